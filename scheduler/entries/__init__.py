"""What people tell us, one file a thing told: check, read, call pure code, write in one transaction.

The command line, the pages and the rehearsal's cast come in through these and nothing else.
Told twice, a thing changes nothing the second time.
"""
