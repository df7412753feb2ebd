"""Finding, opening and migrating the database."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, SQLAlchemyError

from scoring.errors import MissingPackageError, StoreError
from scoring.remedies import ADD_PHOTOS, OTHER_DATABASE

DEFAULT_DATABASE = "coupon.db"
DATABASE_VARIABLE = "COUPON_DB"
VERSION_TABLE = "coupon_schema"
"""Our own name, so that the tables may live beside another program's in one database."""

_MIGRATIONS = Path(__file__).parent / "migrations"
_VERSIONS = _MIGRATIONS / "versions"


def locate_database(given: str | Path | None) -> URL:
    """The database's URL: ``given``, else the environment's ``COUPON_DB``, else ``./coupon.db``.

    Text with ``://`` in it is a URL, anything else the path of an SQLite file. Raises
    :class:`StoreError` for a malformed URL.
    """
    named = str(given or os.environ.get(DATABASE_VARIABLE) or DEFAULT_DATABASE)
    if "://" not in named:
        return URL.create("sqlite", database=str(Path(named).expanduser()))
    try:
        url = make_url(named)
    except ArgumentError as error:
        raise StoreError(f"{named!r} is no database URL; write postgresql://user@host/name.") from (
            error
        )
    if url.drivername in {"postgresql", "postgres"}:
        return url.set(drivername="postgresql+psycopg")
    return url


def open_engine(url: URL, *, create: bool = True) -> sa.Engine:
    """Connect to ``url`` and bring its schema up to date.

    With ``create`` false an SQLite file must be there already: reading must not leave an empty
    database behind a mistyped name. Raises :class:`StoreError`, or :class:`MissingPackageError`
    where the database's driver is not installed.
    """
    if not create and is_missing(url):
        raise nothing_stored(url)
    engine = _connectable(url, foreign_keys=True)
    try:
        with plain_errors(url):
            migrate(url)
    except BaseException:
        engine.dispose()
        raise
    return engine


def is_missing(url: URL) -> bool:
    """Whether ``url`` is an SQLite file that is not there yet; one in memory or by URI never is."""
    path = url.database or ""
    is_file = url.get_backend_name() == "sqlite" and not path.startswith(("file:", ":memory:"))
    return is_file and path != "" and not Path(path).exists()


def nothing_stored(url: URL) -> StoreError:
    """What to say of a database that is not there yet, and of one with nothing in it."""
    folder = Path(url.database or "").parent
    if is_missing(url) and not folder.is_dir():
        return StoreError(
            f"There is no folder {folder}, so no database {database_words(url)}. Correct its path, "
            f"or {OTHER_DATABASE}."
        )
    return StoreError(
        f"Nothing is stored in {database_words(url)} yet. {ADD_PHOTOS}, or {OTHER_DATABASE}."
    )


def migrate(url: URL, *, versions: Path = _VERSIONS) -> None:
    """Apply the migrations under ``versions`` that the database lacks, all of them or none.

    Raises :class:`StoreError` where the database was written by a later version of this program,
    and for an SQLite file of another program.
    """
    config = Config()
    for option, folder in (("script_location", _MIGRATIONS), ("version_locations", versions)):
        config.set_main_option(option, str(folder).replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    script = ScriptDirectory.from_config(config)
    known = {revision.revision for revision in script.walk_revisions()}
    # Rebuilding a table drops the old one; with foreign keys on, that would delete what refers to
    # it. SQLite only lets them be switched outside of a transaction.
    engine = _connectable(url, foreign_keys=False)
    try:
        with engine.connect() as connection:
            if _revision(connection) == script.get_current_head():
                return
        with engine.execution_options(begin="IMMEDIATE").begin() as connection:
            if connection.dialect.name == "postgresql":  # one migration at a time
                connection.execute(sa.text("SELECT pg_advisory_xact_lock(704311)"))
            revision = _revision(connection)
            if revision is not None and revision not in known:
                raise StoreError(
                    f"The database {database_words(url)} was written by a newer version of this "
                    f"program (schema {revision}). Update the program; nothing was changed."
                )
            _refuse_foreign_file(connection, revision, url)
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
            if connection.dialect.name == "sqlite":
                broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
                if broken:
                    raise StoreError(
                        f"Updating {database_words(url)} would leave {len(broken)} rows without "
                        f"what they belong to; nothing was changed."
                    )
    finally:
        engine.dispose()


def _refuse_foreign_file(connection: sa.Connection, revision: str | None, url: URL) -> None:
    """A server's database may hold several programs' tables; a file is one program's."""
    if revision is not None or connection.dialect.name != "sqlite":
        return
    theirs = [name for name in sa.inspect(connection).get_table_names() if name != VERSION_TABLE]
    if theirs:
        raise StoreError(
            f"The database {database_words(url)} is another program's: it has {theirs[0]} and no "
            f"table that says it is this one's. Nothing was changed; {OTHER_DATABASE}."
        )


def _revision(connection: sa.Connection) -> str | None:
    context = MigrationContext.configure(connection, opts={"version_table": VERSION_TABLE})
    return context.get_current_revision()


def _connectable(url: URL, *, foreign_keys: bool) -> sa.Engine:
    sqlite = url.get_backend_name() == "sqlite"
    arguments: dict[str, Any] = {"timeout": 30} if sqlite else {}
    try:
        engine = sa.create_engine(url, connect_args=arguments)
    except (NoSuchModuleError, ArgumentError) as error:
        raise StoreError(
            f"{database_words(url)}: no such kind of database is known ({error})."
        ) from error
    except ImportError as error:
        extra = " (or this package's extra 'postgres')" if "psycopg" in str(error) else ""
        raise MissingPackageError(
            f"The driver for {url.get_backend_name()} is not installed: {error}. "
            f"Install it with pip{extra}."
        ) from error
    if sqlite:
        _take_over_transactions(engine, foreign_keys=foreign_keys)
    return engine


def _take_over_transactions(engine: sa.Engine, *, foreign_keys: bool) -> None:
    """Let SQLAlchemy begin SQLite's transactions, so that table changes roll back too.

    The driver's own rule begins one only before a change of data (SQLAlchemy's documentation,
    "Serializable isolation / Savepoints / Transactional DDL").
    """

    @sa.event.listens_for(engine, "connect")
    def on_connect(connection: Any, _record: Any) -> None:
        connection.isolation_level = None
        connection.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")

    @sa.event.listens_for(engine, "begin")
    def on_begin(connection: sa.Connection) -> None:
        kind = connection.get_execution_options().get("begin", "DEFERRED")
        connection.exec_driver_sql(f"BEGIN {kind}")


@contextmanager
def plain_errors(url: URL) -> Iterator[None]:
    """Turn the database's errors into :class:`StoreError`, in words."""
    try:
        yield
    except DBAPIError as error:
        found = str(error.orig).strip().splitlines()[0] if error.orig else str(error)
        raise StoreError(f"The database {database_words(url)}: {_advice(found)}") from error
    except SQLAlchemyError as error:
        raise StoreError(f"The database {database_words(url)}: {error}.") from error


_ADVICE = {
    "unable to open database file": "cannot be opened; does its folder exist, and may you write "
    "there?",
    "file is not a database": f"this file is no SQLite database; {OTHER_DATABASE}.",
    "database is locked": "another program has been writing to it for half a minute; try again.",
    "readonly database": "may only be read; nothing was written. Check the file's permissions.",
    "database or disk is full": "the disk is full; nothing was written.",
    "malformed": "is damaged; restore it from a copy.",
}


def _advice(found: str) -> str:
    for words, advice in _ADVICE.items():
        if words in found:
            return advice
    return f"{found}."


def database_words(url: URL) -> str:
    """A file's path, or a URL without its password."""
    if url.get_backend_name() == "sqlite":
        return str(url.database)
    return url.render_as_string(hide_password=True)
