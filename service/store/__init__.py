"""Where everything is kept: tables, migrations, and the one way to open a transaction."""
