-- What was done with what is kept: days, numbers and words, no names. It only
-- grows.

CREATE TABLE log (
    ord INTEGER PRIMARY KEY,
    id INTEGER NOT NULL UNIQUE,
    on_day INTEGER NOT NULL,
    what TEXT NOT NULL
        CHECK (what IN ('kept', 'shown', 'exported', 'deleted', 'withdrawn', 'expired')),
    medium TEXT NOT NULL CHECK (medium IN ('still', 'clip')),
    item INTEGER NOT NULL
) STRICT;
CREATE INDEX log_by_item ON log (item);

CREATE TRIGGER log_is_not_changed BEFORE UPDATE ON log
BEGIN
    SELECT RAISE(ABORT, 'what was done is never changed');
END;

CREATE TRIGGER log_is_not_shortened BEFORE DELETE ON log
BEGIN
    SELECT RAISE(ABORT, 'what was done is never taken out');
END;
