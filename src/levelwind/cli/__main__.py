import sys

from levelwind.cli.main import main

sys.exit(main())
