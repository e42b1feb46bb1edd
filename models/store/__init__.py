"""Reads and writes facts. The only code that speaks SQL.

Every function takes a Connection that its caller opened by `Store.read()` or `Store.write()`,
takes and gives facts, and neither opens nor ends a transaction.
"""
