-- SPDX-License-Identifier: MIT
--
-- Step 13: what was done about a filling, so that its reminders end, and other days for them.

CREATE TABLE filling_event (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    filling INTEGER NOT NULL REFERENCES filling (id),
    kind TEXT NOT NULL CHECK (kind IN ('filtered', 'matured', 'filter on', 'ready on')),
    day INTEGER CHECK (day IS NULL OR kind IN ('filter on', 'ready on')), -- civil; NULL: none any more
    note TEXT,
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
CREATE INDEX filling_event_filling ON filling_event (filling, id);

CREATE TRIGGER filling_event_never_changed BEFORE UPDATE ON filling_event BEGIN
    SELECT raise(ABORT, 'what happened to a filling is never changed');
END;
CREATE TRIGGER filling_event_never_deleted BEFORE DELETE ON filling_event BEGIN
    SELECT raise(ABORT, 'what happened to a filling is never deleted');
END;
CREATE TRIGGER filling_event_taken BEFORE INSERT ON filling_event
WHEN EXISTS (SELECT 1 FROM filling_event WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'what happened to a filling is never replaced');
END;
