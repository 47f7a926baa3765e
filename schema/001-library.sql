-- SPDX-License-Identifier: MIT
--
-- Step 1: materials, formulas, trials, lines, revisions, settings.
--
-- Units are those of the program: parts in micro-parts (1e-6 part), strengths in 1e-9 (neat =
-- 1000000000), times in Unix seconds UTC. Truth values are 0 or 1. A column named `checksum` holds
-- the CRC-64 of the other columns of its row (src/store/checksum.h), so that bits that flipped on
-- the disk are found; the program fills it, and a row written by hand without it is reported by
-- `permille verify`.

-- One row about the file as a whole.
CREATE TABLE library (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    -- Random number drawn by the last transaction: after a commit that reported an error it tells
    -- whether the change landed all the same.
    last_commit INTEGER NOT NULL
) STRICT;
INSERT INTO library (one, last_commit) VALUES (1, 0);

-- Small settings of the person ("decimal", "view.bench.bar").
CREATE TABLE setting (
    key TEXT NOT NULL PRIMARY KEY CHECK (length(key) BETWEEN 1 AND 200),
    value TEXT NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;

-- What one can buy. Names stand in material_name.
CREATE TABLE material (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    kind TEXT NOT NULL CHECK (kind IN ('chemical', 'natural', 'solvent', 'blend')),
    cas TEXT CHECK (length(cas) BETWEEN 7 AND 12), -- "106-22-9", check digit verified; or unknown
    family TEXT CHECK (length(family) > 0),        -- odour family in the person's own word
    note TEXT,
    set_aside INTEGER NOT NULL CHECK (set_aside IN (0, 1)), -- out of sight, still referred to
    merged_into INTEGER REFERENCES material (id) CHECK (merged_into <> id), -- what it turned out to be
    made_at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
CREATE INDEX material_cas ON material (cas) WHERE cas IS NOT NULL;
CREATE INDEX material_merged ON material (merged_into) WHERE merged_into IS NOT NULL;

-- Every name a material goes by.
CREATE TABLE material_name (
    material INTEGER NOT NULL REFERENCES material (id),
    place INTEGER NOT NULL CHECK (place >= 0), -- 0 is the name, 1, 2, 3... are synonyms
    name TEXT NOT NULL CHECK (length(name) > 0),
    folded TEXT NOT NULL UNIQUE CHECK (length(folded) > 0), -- case and accents dropped
    checksum INTEGER NOT NULL,
    PRIMARY KEY (material, place)
) STRICT, WITHOUT ROWID;
CREATE INDEX material_name_first ON material_name (folded) WHERE place = 0;

-- Made from material and material_name so that a search reads few, full rows: the folded names of
-- up to 32 materials (src/store/search.c says how they are written).
CREATE TABLE material_search (
    block INTEGER PRIMARY KEY CHECK (block >= 0), -- material id / 32
    entries BLOB NOT NULL
) STRICT;

-- A named composition.
CREATE TABLE formula (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    name TEXT NOT NULL CHECK (length(name) > 0 AND instr(name, '/') = 0),
    folded TEXT NOT NULL UNIQUE CHECK (length(folded) > 0),
    accord INTEGER NOT NULL CHECK (accord IN (0, 1)), -- meant to be used inside others
    set_aside INTEGER NOT NULL CHECK (set_aside IN (0, 1)),
    made_at INTEGER NOT NULL,
    changed_at INTEGER NOT NULL, -- time of the newest revision, or made_at
    kept INTEGER NOT NULL CHECK (kept >= 0), -- number of kept trials
    revisions INTEGER NOT NULL CHECK (revisions >= 0), -- number of revisions
    chain INTEGER NOT NULL, -- checksum of the newest revision, 0 before the first
    checksum INTEGER NOT NULL
) STRICT;

-- A version of a formula: its one draft, or a kept trial, which never changes again.
CREATE TABLE trial (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    formula INTEGER NOT NULL REFERENCES formula (id),
    number INTEGER CHECK (number > 0), -- 1, 2, 3... in the order kept; NULL for the draft
    parent INTEGER REFERENCES trial (id), -- kept trial it was started from
    head INTEGER REFERENCES revision (id), -- revision whose state it shows; NULL before the first
    mode TEXT NOT NULL CHECK (mode IN ('share', 'carrier', 'open')),
    base INTEGER NOT NULL CHECK (base BETWEEN 1 AND 1000000000000), -- total it is written to
    settled INTEGER NOT NULL CHECK (settled IN (0, 1)), -- the total has reached the base once
    next_line INTEGER NOT NULL CHECK (next_line > 0), -- number for the next line added
    line_count INTEGER NOT NULL CHECK (line_count >= 0),
    total INTEGER NOT NULL CHECK (total >= 0), -- sum of the lines' parts
    content INTEGER NOT NULL, -- CRC-64 over all lines in their order
    made_at INTEGER NOT NULL,
    kept_at INTEGER, -- NULL for the draft
    note TEXT, -- given when kept
    checksum INTEGER NOT NULL,
    UNIQUE (formula, number),
    CHECK ((number IS NULL) = (kept_at IS NULL))
) STRICT;
CREATE UNIQUE INDEX trial_draft ON trial (formula) WHERE kept_at IS NULL;
CREATE INDEX trial_parent ON trial (parent) WHERE parent IS NOT NULL;

-- One row of a trial: a material at a strength, or an accord at one of its kept trials.
CREATE TABLE line (
    trial INTEGER NOT NULL REFERENCES trial (id),
    line INTEGER NOT NULL CHECK (line > 0), -- stays with the line through every gesture
    place INTEGER NOT NULL CHECK (place >= 0), -- order shown, from 0
    material INTEGER REFERENCES material (id), -- either a material
    accord INTEGER REFERENCES trial (id), -- or a kept trial of another formula
    strength INTEGER NOT NULL CHECK (strength BETWEEN 1 AND 1000000000),
    solvent INTEGER REFERENCES material (id), -- NULL exactly when neat
    parts INTEGER NOT NULL CHECK (parts BETWEEN 0 AND 1000000000000), -- as poured
    stance TEXT NOT NULL CHECK (stance IN ('free', 'held', 'carrier')),
    core INTEGER NOT NULL CHECK (core BETWEEN 0 AND 702), -- 0: in no core
    weight INTEGER NOT NULL CHECK (weight BETWEEN 0 AND 1000000000000), -- in the core's ratio
    comment TEXT,
    PRIMARY KEY (trial, line),
    CHECK ((material IS NULL) <> (accord IS NULL)),
    CHECK ((strength = 1000000000) = (solvent IS NULL)),
    CHECK (accord IS NULL OR strength = 1000000000),
    CHECK ((core = 0) = (weight = 0)),
    CHECK (stance <> 'carrier' OR core = 0)
) STRICT, WITHOUT ROWID;
CREATE INDEX line_accord ON line (accord) WHERE accord IS NOT NULL;

-- Which formulas have ever held which material, in a line or as a solvent. Undo may bring any of
-- them back, so a material that stands here is not removed, only set aside.
CREATE TABLE material_use (
    material INTEGER NOT NULL REFERENCES material (id),
    formula INTEGER NOT NULL REFERENCES formula (id),
    PRIMARY KEY (material, formula)
) STRICT, WITHOUT ROWID;

-- The history: one row for every gesture and every move of a draft's head.
CREATE TABLE revision (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    formula INTEGER NOT NULL REFERENCES formula (id),
    number INTEGER NOT NULL CHECK (number > 0), -- 1, 2, 3... within the formula, without gaps
    trial INTEGER NOT NULL REFERENCES trial (id), -- the draft it was made on, later perhaps kept
    parent INTEGER REFERENCES revision (id), -- the head it was made on; NULL for the empty start
    target INTEGER REFERENCES revision (id), -- the gesture undone or redone
    at INTEGER NOT NULL,
    gesture TEXT NOT NULL CHECK (length(gesture) > 0), -- "set", "add"... or "undo" "redo" "keep"
    sentence TEXT NOT NULL, -- for the person
    change TEXT, -- what differs, forth and back; NULL for undo, redo, keep
    previous INTEGER NOT NULL, -- checksum of the revision before this one, 0 for the first
    checksum INTEGER NOT NULL,
    UNIQUE (formula, number),
    CHECK ((gesture IN ('undo', 'redo')) = (target IS NOT NULL)),
    CHECK ((gesture IN ('undo', 'redo', 'keep')) = (change IS NULL))
) STRICT;
CREATE INDEX revision_parent ON revision (formula, parent, id);
CREATE INDEX revision_trial ON revision (trial, number);

-- Labels and set-aside marks of kept trials; the newest row of a trial counts.
CREATE TABLE trial_mark (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    trial INTEGER NOT NULL REFERENCES trial (id),
    label TEXT, -- NULL: none, or taken away
    set_aside INTEGER NOT NULL CHECK (set_aside IN (0, 1)),
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
CREATE INDEX trial_mark_trial ON trial_mark (trial, id);

-- ---- what never changes ------------------------------------------------------------------------
--
-- The insert triggers name every unique key: INSERT OR REPLACE would otherwise remove the old row
-- without the delete trigger being asked (recursive_triggers is off in other programs).

CREATE TRIGGER trial_sealed_update BEFORE UPDATE ON trial
WHEN OLD.kept_at IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a kept trial never changes');
END;
CREATE TRIGGER trial_identity BEFORE UPDATE ON trial
WHEN NEW.id <> OLD.id OR NEW.formula <> OLD.formula OR NEW.made_at <> OLD.made_at BEGIN
    SELECT raise(ABORT, 'a trial stays with its formula');
END;
CREATE TRIGGER trial_number_taken BEFORE UPDATE OF number ON trial
WHEN EXISTS (SELECT 1 FROM trial
             WHERE formula = NEW.formula AND number = NEW.number AND id <> OLD.id) BEGIN
    SELECT raise(ABORT, 'a kept trial never changes');
END;
CREATE TRIGGER trial_never_deleted BEFORE DELETE ON trial BEGIN
    SELECT raise(ABORT, 'a trial is never deleted');
END;
CREATE TRIGGER trial_taken BEFORE INSERT ON trial
WHEN EXISTS (SELECT 1 FROM trial WHERE id = NEW.id
             OR (formula = NEW.formula AND number IS NEW.number)) BEGIN
    SELECT raise(ABORT, 'a trial is never replaced');
END;
CREATE TRIGGER trial_born_as_draft BEFORE INSERT ON trial
WHEN NEW.kept_at IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a trial begins as a draft');
END;

CREATE TRIGGER line_sealed_insert BEFORE INSERT ON line
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a line of a kept trial never changes');
END;
CREATE TRIGGER line_sealed_update BEFORE UPDATE ON line
WHEN NEW.trial <> OLD.trial OR (SELECT kept_at FROM trial WHERE id = OLD.trial) IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a line of a kept trial never changes');
END;
CREATE TRIGGER line_sealed_delete BEFORE DELETE ON line
WHEN (SELECT kept_at FROM trial WHERE id = OLD.trial) IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a line of a kept trial never changes');
END;

CREATE TRIGGER revision_never_changed BEFORE UPDATE ON revision BEGIN
    SELECT raise(ABORT, 'a revision never changes');
END;
CREATE TRIGGER revision_never_deleted BEFORE DELETE ON revision BEGIN
    SELECT raise(ABORT, 'a revision is never deleted');
END;
CREATE TRIGGER revision_taken BEFORE INSERT ON revision
WHEN EXISTS (SELECT 1 FROM revision WHERE id = NEW.id)
    OR EXISTS (SELECT 1 FROM revision WHERE formula = NEW.formula AND number = NEW.number) BEGIN
    SELECT raise(ABORT, 'a revision is never replaced');
END;

CREATE TRIGGER trial_mark_never_changed BEFORE UPDATE ON trial_mark BEGIN
    SELECT raise(ABORT, 'a label is never changed, only followed by a newer one');
END;
CREATE TRIGGER trial_mark_never_deleted BEFORE DELETE ON trial_mark BEGIN
    SELECT raise(ABORT, 'a label is never deleted');
END;
CREATE TRIGGER trial_mark_taken BEFORE INSERT ON trial_mark
WHEN EXISTS (SELECT 1 FROM trial_mark WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'a label is never replaced');
END;

-- ---- what else must hold -----------------------------------------------------------------------

CREATE TRIGGER trial_mark_of_kept BEFORE INSERT ON trial_mark
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NULL BEGIN
    SELECT raise(ABORT, 'only kept trials are labelled');
END;
CREATE TRIGGER line_accord_kept_insert BEFORE INSERT ON line
WHEN NEW.accord IS NOT NULL AND (SELECT kept_at FROM trial WHERE id = NEW.accord) IS NULL BEGIN
    SELECT raise(ABORT, 'an accord line names a kept trial');
END;
CREATE TRIGGER line_accord_kept_update BEFORE UPDATE OF accord ON line
WHEN NEW.accord IS NOT NULL AND (SELECT kept_at FROM trial WHERE id = NEW.accord) IS NULL BEGIN
    SELECT raise(ABORT, 'an accord line names a kept trial');
END;
CREATE TRIGGER line_use_insert AFTER INSERT ON line BEGIN
    INSERT INTO material_use (material, formula)
    SELECT m.id, t.formula FROM trial AS t JOIN material AS m ON m.id IN (NEW.material, NEW.solvent)
    WHERE t.id = NEW.trial AND NOT EXISTS (SELECT 1 FROM material_use AS u
                                           WHERE u.material = m.id AND u.formula = t.formula);
END;
CREATE TRIGGER line_use_update AFTER UPDATE OF material, solvent ON line
WHEN NEW.material IS NOT OLD.material OR NEW.solvent IS NOT OLD.solvent BEGIN
    INSERT INTO material_use (material, formula)
    SELECT m.id, t.formula FROM trial AS t JOIN material AS m ON m.id IN (NEW.material, NEW.solvent)
    WHERE t.id = NEW.trial AND NOT EXISTS (SELECT 1 FROM material_use AS u
                                           WHERE u.material = m.id AND u.formula = t.formula);
END;
