"""Fifty file names that a browser could be made to send.

Kinds: CWE-22 to CWE-66 (MITRE, path traversal and equivalence); Microsoft's 'Naming Files, Paths, and Namespaces'
(devices, streams, trailing dots); Unicode TR36 (look-alikes, direction).
"""

NAMES = (
    # up and out of the folder
    "../../x", "..\\..\\x", "..", ".", "....//....//x", "..;/x", "/etc/passwd", "//host/share/x", "\\\\host\\share\\x",
    "~/.ssh/id_rsa", "file:///etc/passwd", "C:\\boot.ini", "C:x", "a/../../../x", "a\\..\\..\\x",
    # the same in other spellings
    "%2e%2e%2fx", "..%2fx", "%252e%252e%252fx", "..%c0%afx", "\uff0e\uff0e\uff0fx", "..\u2215x", "\u2024\u2024/x",
    # devices, streams, and what Windows drops
    "CON", "con.png", "NUL.txt", "COM1", "LPT9.png", "x.png::$DATA", "x.png:hidden", "x.png.", "x.png ", "PROGRA~1",
    # of the folder's own
    ".finishplan-reading", "job.toml", ".htaccess", ".sent-x",
    # bytes that end, split or turn text
    "x\x00.png", "x\r\nSet-Cookie: a=b", "\x1b[2J", "\x7f\x08", "\u202egnp.exe", "\u200b\ufeff", "a\u2028b",
    # other languages' quotes
    '"><script>alert(1)</script>', "'; DROP TABLE figures; --", "$(touch x)", "`touch x`", "[areas]\nx = 1", '"""',
    "'''",
    # long
    "x" * 5000, "\u0301" * 3000,
)  # fmt: skip
