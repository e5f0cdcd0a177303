-- Children and consent. What tells a child is sealed; the rest is numbers.
-- Days are counted from 1970-01-01. Numbers of rows are random. A `sum` is over
-- the bare part of its row: what is read before sign-in has no seal to vouch
-- for it.

CREATE TABLE setting (
    name TEXT PRIMARY KEY,
    value TEXT NOT NULL,
    sum BLOB NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE key_slot (
    kind TEXT PRIMARY KEY CHECK (kind IN ('passphrase', 'next', 'recovery')),
    memory_kib INTEGER NOT NULL,
    passes INTEGER NOT NULL,
    salt BLOB NOT NULL,
    sealed BLOB NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE class (
    id INTEGER PRIMARY KEY,
    sealed BLOB NOT NULL
) STRICT;

CREATE TABLE child (
    id INTEGER PRIMARY KEY,
    class INTEGER NOT NULL REFERENCES class (id),
    grp INTEGER CHECK (grp BETWEEN 1 AND 99),
    listed_on INTEGER NOT NULL,
    sum BLOB NOT NULL,
    sealed BLOB NOT NULL
) STRICT;
CREATE INDEX child_by_class ON child (class);

CREATE TABLE consent (
    id INTEGER PRIMARY KEY,
    ord INTEGER NOT NULL UNIQUE,
    child INTEGER NOT NULL REFERENCES child (id) ON DELETE CASCADE,
    kind TEXT NOT NULL CHECK (kind IN ('seen', 'stills', 'clips', 'shared')),
    answer TEXT NOT NULL CHECK (answer IN ('given', 'withheld', 'withdrawn')),
    from_day INTEGER NOT NULL,
    until_day INTEGER,
    recorded_on INTEGER NOT NULL,
    over INTEGER NOT NULL DEFAULT 0 CHECK (over IN (0, 1)),
    confirmed INTEGER NOT NULL CHECK (confirmed IN (0, 1)),
    sum BLOB NOT NULL,
    sealed BLOB NOT NULL,
    -- A no has no last day, and a yes does not end before it begins.
    CHECK (until_day IS NULL OR (answer = 'given' AND until_day >= from_day))
) STRICT;
CREATE INDEX consent_by_child ON consent (child, kind, ord);

-- An answer is never changed: a new one is recorded.
CREATE TRIGGER consent_is_a_record BEFORE UPDATE ON consent
WHEN NEW.id <> OLD.id OR NEW.ord <> OLD.ord OR NEW.child <> OLD.child OR NEW.kind <> OLD.kind
    OR NEW.answer <> OLD.answer OR NEW.from_day <> OLD.from_day
    OR NEW.until_day IS NOT OLD.until_day OR NEW.recorded_on <> OLD.recorded_on
    OR NEW.over < OLD.over
BEGIN
    SELECT RAISE(ABORT, 'an answer is never changed');
END;

CREATE TABLE veil (
    class INTEGER NOT NULL,
    grp INTEGER NOT NULL CHECK (grp BETWEEN 0 AND 99),
    from_day INTEGER,
    sum BLOB NOT NULL,
    PRIMARY KEY (class, grp)
) STRICT, WITHOUT ROWID;
