"""Alembic's entry: runs the steps on the connection that we were given, inside its transaction."""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    version_table=context.config.attributes["version_table"],
)
context.run_migrations()
