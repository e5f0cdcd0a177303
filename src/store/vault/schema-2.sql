-- What is kept of children, and the rule that it has a basis, once more.

CREATE TABLE item (
    id INTEGER PRIMARY KEY,
    medium TEXT NOT NULL CHECK (medium IN ('still', 'clip')),
    purpose TEXT NOT NULL CHECK (purpose IN ('portfolio', 'family')),
    taken_on INTEGER NOT NULL,
    expires_on INTEGER NOT NULL CHECK (expires_on >= taken_on),
    sum BLOB NOT NULL,
    sealed BLOB NOT NULL
) STRICT;

-- Written before its item: an item that names nobody is refused.
CREATE TABLE item_child (
    item INTEGER NOT NULL REFERENCES item (id) ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED,
    child INTEGER NOT NULL REFERENCES child (id),
    PRIMARY KEY (item, child)
) STRICT, WITHOUT ROWID;
CREATE INDEX item_child_by_child ON item_child (child);

CREATE TRIGGER item_has_a_basis BEFORE INSERT ON item
BEGIN
    SELECT RAISE(ABORT, 'nothing is kept without saying of whom')
    WHERE NOT EXISTS (SELECT 1 FROM item_child WHERE item = NEW.id);
    SELECT RAISE(ABORT, 'nothing is kept without a basis')
    FROM item_child
    JOIN (SELECT 'medium' AS needs UNION ALL SELECT 'sharing') AS needed
    WHERE item_child.item = NEW.id
        AND (needed.needs = 'medium' OR NEW.purpose = 'family')
        AND NOT EXISTS (
            SELECT 1 FROM consent AS latest
            WHERE latest.child = item_child.child
                AND latest.kind = CASE
                    WHEN needed.needs = 'sharing' THEN 'shared'
                    WHEN NEW.medium = 'still' THEN 'stills'
                    ELSE 'clips' END
                AND latest.ord = (
                    SELECT MAX(ord) FROM consent AS other
                    WHERE other.child = latest.child AND other.kind = latest.kind)
                AND latest.answer = 'given' AND latest.over = 0 AND latest.confirmed = 1
                AND latest.from_day <= NEW.taken_on
                AND (latest.until_day IS NULL OR latest.until_day >= NEW.expires_on));
END;

CREATE TRIGGER item_is_kept_as_it_is BEFORE UPDATE ON item
WHEN NEW.id <> OLD.id OR NEW.medium <> OLD.medium OR NEW.taken_on <> OLD.taken_on
    OR NEW.expires_on > OLD.expires_on OR (NEW.purpose = 'family' AND OLD.purpose <> 'family')
BEGIN
    SELECT RAISE(ABORT, 'what is kept is kept no longer and for nothing else');
END;

CREATE TRIGGER item_names_whom_it_named BEFORE UPDATE ON item_child
BEGIN
    SELECT RAISE(ABORT, 'what is kept is of whom it is');
END;

-- A child that goes takes along what is kept of it, with others in it too.
CREATE TRIGGER child_takes_items BEFORE DELETE ON child
BEGIN
    DELETE FROM item WHERE id IN (SELECT item FROM item_child WHERE child = OLD.id);
END;

-- And so does a no. A yes that ends earlier has to have shortened what rests
-- on it.
CREATE TRIGGER consent_ends_items AFTER INSERT ON consent
BEGIN
    DELETE FROM item
    WHERE NEW.answer <> 'given'
        AND ((NEW.kind = 'stills' AND medium = 'still') OR (NEW.kind = 'clips' AND medium = 'clip')
            OR (NEW.kind = 'shared' AND purpose = 'family'))
        AND id IN (SELECT item FROM item_child WHERE child = NEW.child);
    SELECT RAISE(ABORT, 'what rests on an answer is kept no longer than it holds')
    FROM item
    WHERE NEW.answer = 'given' AND expires_on > NEW.until_day
        AND ((NEW.kind = 'stills' AND medium = 'still') OR (NEW.kind = 'clips' AND medium = 'clip')
            OR (NEW.kind = 'shared' AND purpose = 'family'))
        AND id IN (SELECT item FROM item_child WHERE child = NEW.child);
END;
