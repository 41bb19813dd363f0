// Posts a form's data in the background and tells its progress. Answers with the request, or rejects where nothing answered
// or it was stopped; `begun` is given the request, so that it can be stopped.
// A number with the shop's decimal sign.
const figures = (number, decimals) => number.toFixed(decimals).replace(".", document.documentElement.dataset.decimal || ".");

const post = (form, data, progress, begun = () => {}) =>
  new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.setRequestHeader("HX-Request", "true");
    request.upload.onprogress = (event) => progress(event.loaded, event.total);
    request.onload = () => resolve(request);
    request.onerror = () => reject(new Error("no answer"));
    request.onabort = () => reject(new Error("stopped"));
    begun(request);
    request.send(data);
  });

const NO_ANSWER = "Not sent: the shop’s machine does not answer.";
