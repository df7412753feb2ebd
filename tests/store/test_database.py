import sqlite3
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from scoring.errors import MissingPackageError, StoreError
from scoring.runs.settings import RunSettings
from scoring.store import database as opening
from scoring.store.database import (
    VERSION_TABLE,
    is_missing,
    locate_database,
    migrate,
    open_engine,
)
from scoring.store.run_store import MeasuredPhoto, RunStore
from scoring.store.schema import Base

LATER = """
import sqlalchemy as sa
from alembic import op

revision = "9999"
down_revision = {previous!r}
branch_labels = None
depends_on = None


def upgrade():
    with op.batch_alter_table("photos", recreate={recreate!r}) as photos:
        photos.add_column(sa.Column("colour", sa.String(), server_default="grey"))
    {then}
"""


def later_versions(folder: Path, *, sqlite: bool, then: str = "pass") -> Path:
    """Our migrations and one to come: it rebuilds a table that another one refers to."""
    versions = folder / "versions"
    versions.mkdir()
    shipped = sorted(opening._VERSIONS.glob("v*.py"))
    for script in shipped:
        (versions / script.name).write_text(script.read_text())
    previous = shipped[-1].name[1:5]
    text = LATER.format(previous=previous, recreate="always" if sqlite else "never", then=then)
    (versions / "v9999_later.py").write_text(text)
    return versions


def test_an_empty_database_gets_the_models_tables(database: str) -> None:
    engine = open_engine(locate_database(database))
    with engine.connect() as connection:
        context = MigrationContext.configure(
            connection,
            opts={
                "version_table": VERSION_TABLE,
                "compare_type": True,
                "compare_server_default": True,
            },
        )
        assert compare_metadata(context, Base.metadata) == []
    engine.dispose()


def test_opening_again_changes_nothing(database: str) -> None:
    for _ in range(2):
        with RunStore.open(database) as store:
            assert store.runs() == ()


def test_an_upgrade_preserves_data(
    database: str,
    tmp_path: Path,
    request: pytest.FixtureRequest,
) -> None:
    settings: RunSettings = request.getfixturevalue("settings")(filament="PLA")
    shot: MeasuredPhoto = request.getfixturevalue("photo")()
    with RunStore.open(database) as store:
        store.record_photo(settings, shot)
        before = store.measurements()
        url = locate_database(database)
        migrate(url, versions=later_versions(tmp_path, sqlite="sqlite" in url.drivername))
        assert store.measurements() == before
        assert store.photo_bytes(shot.sha256) == shot.content
        with store._engine.connect() as connection:
            assert connection.scalar(sa.text("SELECT colour FROM photos")) == "grey"


def test_an_upgrade_that_fails_half_way_leaves_the_database_as_it_was(
    database: str, tmp_path: Path
) -> None:
    url = locate_database(database)
    RunStore.open(database).close()
    versions = later_versions(
        tmp_path, sqlite="sqlite" in url.drivername, then='op.execute("INSERT INTO nowhere")'
    )
    with pytest.raises(sa.exc.DBAPIError):
        migrate(url, versions=versions)
    with RunStore.open(database) as store, store._engine.connect() as connection:
        columns = {c["name"] for c in sa.inspect(connection).get_columns("photos")}
    assert "colour" not in columns


def test_a_newer_schema_is_refused(database: str, tmp_path: Path) -> None:
    url = locate_database(database)
    RunStore.open(database).close()
    migrate(url, versions=later_versions(tmp_path, sqlite="sqlite" in url.drivername))
    with pytest.raises(StoreError, match=r"newer version .*9999.*nothing was changed"):
        RunStore.open(database)


@pytest.mark.parametrize(
    ("named", "url"),
    [
        ("runs.db", "sqlite:///runs.db"),
        ("/a b/100%.db", "sqlite:////a b/100%25.db"),
        ("sqlite:///x.db", "sqlite:///x.db"),
        ("postgresql://me@host/runs", "postgresql+psycopg://me@host/runs"),
        ("mysql+pymysql://host/runs", "mysql+pymysql://host/runs"),
    ],
)
def test_a_path_or_url_is_understood(named: str, url: str) -> None:
    assert str(locate_database(named)) == url


@pytest.mark.parametrize(
    ("named", "missing"),
    [
        ("there.db", False),
        ("gone.db", True),
        ("sqlite:///gone.db", True),
        ("sqlite://", False),
        ("sqlite:///:memory:", False),
        ("sqlite:///file:x.db?uri=true", False),
        ("postgresql://me@host/runs", False),
    ],
)
def test_only_an_sqlite_file_can_be_missing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named: str, missing: bool
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "there.db").touch()
    assert is_missing(locate_database(named)) == missing


def test_the_environment_names_the_default(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COUPON_DB", raising=False)
    assert locate_database(None).database == "coupon.db"
    monkeypatch.setenv("COUPON_DB", "elsewhere.db")
    assert locate_database(None).database == "elsewhere.db"
    assert locate_database("given.db").database == "given.db"


@pytest.mark.parametrize("name", ["a b.db", "100%d.db", "ünï.db", "?x=1.db"])
def test_any_file_name_will_do(tmp_path: Path, name: str) -> None:
    RunStore.open(tmp_path / name).close()
    assert [p.name for p in tmp_path.iterdir()] == [name]


def test_reading_does_not_create_a_file(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"Nothing is stored in .* yet. Add photos first"):
        RunStore.open(tmp_path / "absent.db", create=False)
    with pytest.raises(StoreError, match=r"There is no folder .*/none, so no database"):
        RunStore.open(tmp_path / "none" / "absent.db", create=False)
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_database_is_told_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "notes.db"
    path.write_text("these are notes " * 100)
    with pytest.raises(StoreError, match="no SQLite database"):
        RunStore.open(path)
    assert path.read_text() == "these are notes " * 100
    with pytest.raises(StoreError, match="cannot be opened"):
        RunStore.open(tmp_path / "no such folder" / "runs.db")
    with pytest.raises(StoreError, match="no database URL"):
        RunStore.open("://x")
    with pytest.raises(StoreError, match="no such kind"):
        RunStore.open("abacus://x")


def test_a_missing_driver_is_told() -> None:
    with pytest.raises(MissingPackageError, match="oracle is not installed"):
        RunStore.open("oracle://x")


def test_another_program_s_tables_are_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "theirs.db"
    with sqlite3.connect(path) as theirs:
        theirs.execute("CREATE TABLE photos (id INTEGER)")
        theirs.execute("INSERT INTO photos VALUES (7)")
    theirs.close()
    with pytest.raises(StoreError, match="is another program's: it has photos"):
        RunStore.open(path)
    with sqlite3.connect(path) as theirs:
        tables = theirs.execute("SELECT name FROM sqlite_master").fetchall()
    theirs.close()
    assert tables == [("photos",)]


def test_a_database_that_may_only_be_read_is_told(tmp_path: Path) -> None:
    RunStore.open(tmp_path / "runs.db").close()
    read_only = f"sqlite:///file:{tmp_path}/runs.db?mode=ro&uri=true"
    run = RunSettings(
        name="A", machine="Alder", axis="x", outer_wall_speed_mm_s=100, accel_mm_s2=1000
    )
    with RunStore.open(read_only, create=False) as store:
        assert store.runs() == ()
        with pytest.raises(StoreError, match="only be read"):
            store.record_run(run)
