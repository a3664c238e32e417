"""Alembic's scripts: how the schema came to be, release by release."""
