"""The door of the screens: who calls, what each may do, and what is written down when somebody may not.

`guard.Guard` knows callers; `rules` is the one table of what a role may do; `hook` asks both before every request;
`signing` asks for a personal code where an act is a critical sign-off. Pages: `display/pages/signing_in.py` and
`display/pages/access.py`.
"""
