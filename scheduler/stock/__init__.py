"""Live packs: what to order by which day, which batch goes to which visit."""
