-- SPDX-License-Identifier: MIT
--
-- Step 9: trials made to be compared (dose ladders, one line left out, designs of ratios), what was
-- thought of them, and smell notes that set the clock of a drydown.

-- Trials that belong together. A series stays as it was made.
CREATE TABLE series (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    name TEXT NOT NULL CHECK (length(name) > 0),
    folded TEXT NOT NULL UNIQUE CHECK (length(folded) > 0),
    kind TEXT NOT NULL CHECK (kind IN ('ladder', 'leave-out', 'ratios')),
    formula INTEGER NOT NULL REFERENCES formula (id),
    what TEXT NOT NULL, -- names of the lines it is about, one per row, as they were
    bounds TEXT, -- ratios: least and most share of each line in 1e-9, "0-400000000 0-1000000000"
    panel INTEGER REFERENCES panel (id), -- blind test of all its trials
    made_at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
CREATE INDEX series_formula ON series (formula);

-- The kept trials of a series, and in what each differs.
CREATE TABLE series_trial (
    series INTEGER NOT NULL REFERENCES series (id),
    place INTEGER NOT NULL CHECK (place >= 0), -- order made, from 0
    trial INTEGER NOT NULL REFERENCES trial (id),
    amount INTEGER CHECK (amount >= 0), -- ladder: parts of the line; NULL in other kinds
    ratio TEXT, -- ratios: neat parts of the lines, "4:0:1"
    omitted TEXT, -- leave-out: the name of the line it lacks; NULL: it has all
    panel INTEGER REFERENCES panel (id), -- blind test of it against the one that has all
    checksum INTEGER NOT NULL,
    PRIMARY KEY (series, place)
) STRICT, WITHOUT ROWID;

-- How much a trial of a series was liked. Never changed: a correction is another row.
CREATE TABLE rating (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    series INTEGER NOT NULL REFERENCES series (id),
    trial INTEGER NOT NULL REFERENCES trial (id),
    value INTEGER CHECK (value BETWEEN 0 AND 1000000000), -- 1e-6; NULL: takes the corrected one back
    at INTEGER NOT NULL,
    corrects INTEGER UNIQUE REFERENCES rating (id) CHECK (corrects < id),
    checksum INTEGER NOT NULL,
    CHECK (value IS NOT NULL OR corrects IS NOT NULL)
) STRICT;
CREATE INDEX rating_series ON rating (series);

-- A smell note that says a material was gone by then. The newest of a formula sets its clock.
CREATE TABLE calibration (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    smell INTEGER NOT NULL REFERENCES smell (id),
    material INTEGER NOT NULL REFERENCES material (id),
    remaining INTEGER NOT NULL CHECK (remaining BETWEEN 1 AND 999999999), -- 1e-9 of its start that
        -- counts as gone
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
CREATE INDEX calibration_smell ON calibration (smell);

CREATE TRIGGER series_never_changed BEFORE UPDATE ON series BEGIN
    SELECT raise(ABORT, 'a series stays as it was made');
END;
CREATE TRIGGER series_never_deleted BEFORE DELETE ON series BEGIN
    SELECT raise(ABORT, 'a series is never deleted');
END;
CREATE TRIGGER series_taken BEFORE INSERT ON series
WHEN EXISTS (SELECT 1 FROM series WHERE id = NEW.id OR folded = NEW.folded) BEGIN
    SELECT raise(ABORT, 'a series is never replaced');
END;

CREATE TRIGGER series_trial_never_changed BEFORE UPDATE ON series_trial BEGIN
    SELECT raise(ABORT, 'the trials of a series never change');
END;
CREATE TRIGGER series_trial_never_deleted BEFORE DELETE ON series_trial BEGIN
    SELECT raise(ABORT, 'the trials of a series are never deleted');
END;
CREATE TRIGGER series_trial_taken BEFORE INSERT ON series_trial
WHEN EXISTS (SELECT 1 FROM series_trial WHERE series = NEW.series AND place = NEW.place) BEGIN
    SELECT raise(ABORT, 'the trials of a series are never replaced');
END;

CREATE TRIGGER rating_never_changed BEFORE UPDATE ON rating BEGIN
    SELECT raise(ABORT, 'a rating is never changed, only corrected by another');
END;
CREATE TRIGGER rating_never_deleted BEFORE DELETE ON rating BEGIN
    SELECT raise(ABORT, 'a rating is never deleted');
END;
CREATE TRIGGER rating_taken BEFORE INSERT ON rating
WHEN EXISTS (SELECT 1 FROM rating WHERE id = NEW.id
             OR (NEW.corrects IS NOT NULL AND corrects = NEW.corrects)) BEGIN
    SELECT raise(ABORT, 'a rating is never replaced');
END;

CREATE TRIGGER calibration_never_changed BEFORE UPDATE ON calibration BEGIN
    SELECT raise(ABORT, 'what set a clock is never changed, only followed by another');
END;
CREATE TRIGGER calibration_never_deleted BEFORE DELETE ON calibration BEGIN
    SELECT raise(ABORT, 'what set a clock is never deleted');
END;
CREATE TRIGGER calibration_taken BEFORE INSERT ON calibration
WHEN EXISTS (SELECT 1 FROM calibration WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'what set a clock is never replaced');
END;
