#!/usr/bin/env python
"""Django's own command line: `python manage.py help` lists what it can do."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.site.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit("Django is not here. Run deploy/start once, then use .coop/python/bin/python manage.py ...")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
