"""Who may come in: passwords, waiting after wrong ones, people, sessions ended from afar, and what anybody may send."""

import re
from datetime import timedelta
from importlib import import_module
from pathlib import Path

import pytest
from axes.models import AccessFailureLog
from django.conf import global_settings
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.contrib.auth.models import User
from django.test import Client
from django.utils.module_loading import import_string
from pytest_django import Settings

from levelwind.cli.uploads import MOST_FROM_ANYBODY, SparingParser
from levelwind.shop.jobs.selectors.photos import PhotoSpot
from levelwind.shop.models import Reading, Shop, Stage
from levelwind.shop.people.accounts import doors_open
from levelwind.shop.people.safekeeping import codes_close
from levelwind.shop.readings.services.readings import reading_type
from levelwind.web import phone_codes
from levelwind.web.jobs.photos import phone as photos_phone
from levelwind.web.joined import address
from levelwind.web.readings.spot import token_for
from levelwind.web.uploads import may_send
from tests.jobs import a_job
from tests.shop.readings.test_readings import a_log

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("network")]
GOOD, OTHER = "line through the guides", "eight rings and a tip"


def a_person(name: str = "merle", **facts: bool) -> User:
    return User.objects.create_user(name, password=GOOD, **facts)


def sign_in(client: Client, name: str = "merle", password: str = GOOD) -> int:
    agent = {"user-agent": "A phone of the tests"}
    return client.post("/sign-in/", {"username": name, "password": password}, headers=agent).status_code


def test_ten_wrong_passwords_wait_and_every_one_is_seen_at_the_counter(client: Client, phone: Client) -> None:
    a_person(is_superuser=True)
    a_person("orla")
    assert [sign_in(phone, "orla", "wrong") for _ in range(10)] == [200] * 9 + [429]
    assert sign_in(phone, "orla") == 429, "the right one must wait too"
    assert sign_in(Client(REMOTE_ADDR="192.168.1.77"), "orla") == 429, "the name waits, from wherever"
    client.force_login(User.objects.get(username="merle"))
    shown = client.get("/counter/people/").content.decode()
    assert AccessFailureLog.objects.count() >= 10 and shown.count("“orla” from 127.0.0.1") >= 10
    assert "Wait 15 minutes" in phone.post("/sign-in/", {"username": "orla", "password": GOOD}).content.decode()
    client.post("/counter/people/try-again/")
    assert sign_in(phone, "orla") == 302


def test_a_password_easily_guessed_is_refused(client: Client) -> None:
    client.force_login(a_person("boss", is_superuser=True))
    for name, password, said in (
        ("merle", "x", "too short"),
        ("merle", "qwerty123456", "too common"),
        ("merle", "1234567890123", "entirely numeric"),
        ("merle-of-the-bench", "merle-of-the-bench1", "too similar to the username"),
    ):
        answer = client.post("/counter/people/", {"name": name, "password": password})
        assert answer.status_code == 422 and said in answer.content.decode(), password
    assert User.objects.count() == 1


def test_passwords_are_kept_salted_and_by_a_slow_sum() -> None:
    """OWASP ASVS 4.0.3, points 2.4.2 and 2.4.3: a salt of 32 bits at least, 310,000 rounds of PBKDF2 with SHA-256."""
    assert not hasattr(import_module("levelwind.project.settings"), "PASSWORD_HASHERS"), "Django's own are taken"
    slow = import_string(global_settings.PASSWORD_HASHERS[0])
    assert slow is PBKDF2PasswordHasher and slow.iterations >= 310_000 and slow.salt_entropy >= 32


def test_who_runs_the_shop_adds_people_and_lets_them_in_no_more(client: Client, phone: Client) -> None:
    client.force_login(a_person("boss", is_superuser=True))
    client.post("/counter/people/", {"name": "merle", "password": GOOD})
    assert (
        "one that nobody here has yet"
        in client.post("/counter/people/", {"name": "Merle", "password": GOOD}).content.decode()
    )
    merle = User.objects.get(username="merle")
    assert not merle.is_superuser and sign_in(phone) == 302 and phone.get("/").status_code == 200
    client.post(f"/counter/people/{merle.pk}/out/")
    assert phone.get("/").status_code == 302 and sign_in(phone) == 200
    client.post(f"/counter/people/{merle.pk}/in/")
    client.post(f"/counter/people/{merle.pk}/password/", {"password": OTHER})
    assert sign_in(phone) == 200 and sign_in(phone, password=OTHER) == 302
    boss = User.objects.get(username="boss")
    assert "nobody could let people in" in client.post(f"/counter/people/{boss.pk}/out/").content.decode()


def test_others_see_their_own_and_change_nobody(client: Client, phone: Client) -> None:
    a_person(), sign_in(phone)
    a_person("orla"), sign_in(client, "orla")
    orla = User.objects.get(username="orla")
    shown = phone.get("/counter/people/").content.decode()
    assert shown.count("A phone of the tests") == 2 and "Refused in the last" not in shown, "once shown, once read out"
    for path, sent in (
        ("", {"name": "new", "password": GOOD}),
        (f"{orla.pk}/out/", {}),
        (f"{orla.pk}/password/", {"password": OTHER}),
        ("try-again/", {}),
        ("doors/close/", {"door": next(door.key for door in doors_open() if door.person == orla)}),
    ):
        assert phone.post(f"/counter/people/{path}", sent).status_code == 403
    assert client.get("/").status_code == 200 and User.objects.count() == 2


def test_a_lost_phone_s_session_is_ended_from_another_browser_and_signing_out_ends_ones_own(
    client: Client, phone: Client
) -> None:
    a_person(), sign_in(client), sign_in(phone)
    shown = client.get("/counter/people/").content.decode()
    keys = re.findall(r'name="door" value="(\w+)"', shown)
    assert len(keys) == 2 and client.session.session_key not in shown and phone.session.session_key not in shown
    here = re.search(r"\(here\).*?value=\"(\w+)\"", shown, re.DOTALL)
    assert here
    client.post("/counter/people/doors/close/", {"door": next(key for key in keys if key != here[1])})
    assert phone.get("/").status_code == 302 and client.get("/").status_code == 200
    client.post("/sign-out/")
    assert client.get("/").status_code == 302 and not doors_open()


def test_a_changed_password_ends_the_others(client: Client, phone: Client) -> None:
    a_person(), sign_in(client), sign_in(phone)
    told = {"old_password": GOOD, "new_password1": OTHER, "new_password2": OTHER}
    assert client.post("/counter/people/password/", told | {"old_password": "no"}).status_code == 422
    assert client.post("/counter/people/password/", told).status_code == 302
    assert client.get("/").status_code == 200 and phone.get("/").status_code == 302
    assert sign_in(phone) == 200 and sign_in(phone, password=OTHER) == 302


def test_whoever_sits_at_the_machine_puts_a_forgotten_password_right(client: Client, settings: Settings) -> None:
    settings.NETWORK = ""
    merle = a_person()
    assert client.post(f"/counter/people/{merle.pk}/password/", {"password": OTHER}).status_code == 302
    merle.refresh_from_db()
    assert merle.check_password(OTHER)


def test_a_phone_s_code_changes_nothing_of_the_shop_nor_what_the_bench_took(phone: Client) -> None:
    Shop.objects.create(pk=1, scale_most_N=100.0)
    job = a_job()
    bench = reading_type(job=job, kind="spin", moment="found", typed={"spin_time_s": 5.0})
    there = f"/m/{token_for(job, 'found')}/"
    phone.post(there + "pull/", {"recording": a_log(), "capacity_N": "20"})
    assert Shop.objects.get().scale_most_N == 100.0
    own = Reading.objects.exclude(pk=bench.pk).get()
    for what in ("act/strike/", "act/restore/", "act/afresh/", "act/go-on/", "tell/", "stop/"):
        assert phone.post(f"{there}reading/{bench.pk}/{what}").status_code == 404
    shown = phone.get(f"{there}reading/{bench.pk}/").content.decode()
    assert shown.count("<form") == 0 and "Strike it out" in phone.get(f"{there}reading/{own.pk}/").content.decode()
    phone.post(f"{there}reading/{own.pk}/act/strike/")
    bench.refresh_from_db(), own.refresh_from_db()
    assert own.struck_out and not bench.struck_out


@pytest.mark.parametrize("ended", ["gone", "closed", "older", "from the future"])
def test_a_code_opens_nothing_once_the_reel_is_gone_or_the_code_is_closed_or_its_time_is_odd(
    phone: Client, monkeypatch: pytest.MonkeyPatch, ended: str
) -> None:
    job = a_job()
    there = [f"/m/{token_for(job, 'found')}/", f"/p/{photos_phone.token_for(PhotoSpot(job=job))}/"]
    assert [phone.get(path).status_code for path in there] == [200, 200]
    assert all(may_send(path, "") for path in there) and not may_send("/m/x/", "") and not may_send("/p/", "")
    if ended == "gone":
        job.stage = Stage.HOME
        job.save(update_fields=["stage"])
    elif ended == "closed":
        codes_close()
    elif ended == "older":
        monkeypatch.setattr(phone_codes, "GOOD_FOR", timedelta(seconds=-1))
    else:
        monkeypatch.setattr(phone_codes, "AHEAD", timedelta(minutes=-10))
    assert [phone.get(path).status_code for path in there] == [410, 410]
    assert [phone.post(path + "spin/", {}).status_code for path in there[:1]] == [410]
    assert not any(may_send(path, "") for path in there)
    if ended == "gone":
        assert "has left the bench" in phone.get(there[1]).content.decode()


def test_nobody_sends_more_than_a_form_before_signing_in(client: Client, phone: Client, settings: Settings) -> None:
    a_person(), sign_in(client)
    signed = f"csrftoken=x; {settings.SESSION_COOKIE_NAME}={client.session.session_key}"
    assert may_send("/jobs/26-0001/readings/found/spin/", signed)
    for cookies in ("", f"{settings.SESSION_COOKIE_NAME}=abc", "=;=;", f"{settings.SESSION_COOKIE_NAME}="):
        assert not may_send("/jobs/26-0001/readings/found/spin/", cookies)
    settings.NETWORK = ""
    assert may_send("/jobs/26-0001/readings/found/spin/", "")


class Adjustments:
    max_request_header_size, max_request_body_size, inbuf_overflow = 10_000, 600_000_000, 1000
    url_scheme = "http"


@pytest.mark.parametrize("sent", ["Content-Length: 500000000", "Transfer-Encoding: chunked"])
def test_what_a_stranger_sends_is_not_kept(sent: str, tmp_path: Path) -> None:
    parser = SparingParser(Adjustments())
    head = f"POST /jobs/26-0001/readings/found/spin/ HTTP/1.1\r\nHost: here\r\n{sent}\r\n\r\n".encode()
    assert parser.received(head) == len(head)
    assert parser.body_rcv is None or parser.error, "nothing is there that would keep it"
    small = SparingParser(Adjustments())
    small.received(head.replace(sent.encode(), f"Content-Length: {MOST_FROM_ANYBODY}".encode()))
    assert small.body_rcv is not None and not small.error


def test_every_page_says_that_nothing_may_come_from_elsewhere_and_has_no_script_in_it(client: Client) -> None:
    for path in ("/", "/sign-in/", "/nothing/", "/counter/people/"):
        answer = client.get(path, follow=True)
        policy = answer.headers["Content-Security-Policy"]
        assert "script-src 'self';" in policy and "style-src 'self';" in policy and "unsafe-eval" not in policy
    assert "Content-Security-Policy" not in client.get(address("css")).headers
    for template in (Path(phone_codes.__file__).parent / "templates").rglob("*.html"):
        text = template.read_text()
        assert not re.search(r"<script(?![^>]*\bsrc=)|\son\w+=|hx-on|javascript:", text), template
        assert "<style" not in text or template.name == "guide_alone.html"
