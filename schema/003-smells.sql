-- SPDX-License-Identifier: MIT
--
-- Step 3: the smell log, what is being smelled over time, blind tests.
--
-- Units as in step 1; intensity and liking go from 0 to 10.

-- Something put on a blotter, on skin or elsewhere, to be smelled again and again while it dries.
-- All that have not ended make up the running session, over any number of restarts.
CREATE TABLE application (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    trial INTEGER NOT NULL REFERENCES trial (id),
    medium TEXT NOT NULL CHECK (medium IN ('blotter', 'skin', 'other')),
    strength INTEGER CHECK (strength BETWEEN 1 AND 1000000000), -- of the trial in what was applied;
                                                                -- NULL: not noted
    applied_at INTEGER NOT NULL,
    schedule TEXT NOT NULL CHECK (length(schedule) > 0), -- "0, 5 min, 1 h": when to smell it
    note TEXT, -- which blotter, where on the skin
    ended_at INTEGER, -- when it was given up; NULL: still running
    made_at INTEGER NOT NULL, -- when it was entered
    checksum INTEGER NOT NULL
) STRICT;
CREATE INDEX application_running ON application (applied_at) WHERE ended_at IS NULL;
CREATE INDEX application_trial ON application (trial);

-- The smell log: what was smelled of a kept trial, once.
CREATE TABLE smell (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    trial INTEGER NOT NULL REFERENCES trial (id),
    application INTEGER REFERENCES application (id), -- what was smelled; NULL: nothing running
    medium TEXT NOT NULL CHECK (medium IN ('blotter', 'skin', 'other')),
    strength INTEGER CHECK (strength BETWEEN 1 AND 1000000000), -- NULL: not noted
    since INTEGER NOT NULL CHECK (since BETWEEN 0 AND 31622400), -- seconds after it was applied
    intensity INTEGER CHECK (intensity BETWEEN 0 AND 10), -- 0: nothing; NULL: not noted
    liking INTEGER CHECK (liking BETWEEN 0 AND 10), -- 5: neither; NULL: not noted
    note TEXT CHECK (length(note) > 0), -- in the person's own words
    assessor TEXT CHECK (length(assessor) > 0), -- who smelled; NULL: the person themself
    at INTEGER NOT NULL, -- when it was smelled
    entered_at INTEGER NOT NULL,
    corrects INTEGER UNIQUE REFERENCES smell (id) CHECK (corrects < id), -- the entry it replaces
    withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)), -- takes that entry back for good
    checksum INTEGER NOT NULL,
    CHECK (withdrawn = 0 OR corrects IS NOT NULL)
) STRICT;
CREATE INDEX smell_trial ON smell (trial, since, id);
CREATE INDEX smell_application ON smell (application) WHERE application IS NOT NULL;

-- A blind test.
CREATE TABLE panel (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    name TEXT NOT NULL CHECK (length(name) > 0),
    folded TEXT NOT NULL UNIQUE CHECK (length(folded) > 0),
    kind TEXT NOT NULL CHECK (kind IN ('triangle', 'duo-trio', 'paired', 'paired-two-sided',
                                       'ranking')),
    question TEXT, -- what is asked: "Which is drier?"
    expected INTEGER CHECK (expected >= 0), -- paired: the sample it was said would be chosen
    alpha INTEGER NOT NULL CHECK (alpha BETWEEN 1 AND 500000000), -- 1e-9: the risk taken
    rounds INTEGER NOT NULL CHECK (rounds BETWEEN 1 AND 10000), -- answers planned
    seed INTEGER NOT NULL, -- codes and orders come from it
    made_at INTEGER NOT NULL,
    closed_at INTEGER, -- from then on the key may be seen, and nothing more is answered
    checksum INTEGER NOT NULL,
    CHECK ((kind = 'paired') = (expected IS NOT NULL))
) STRICT;

-- The samples of a test: the key is that sample number N is this trial.
CREATE TABLE panel_sample (
    panel INTEGER NOT NULL REFERENCES panel (id),
    sample INTEGER NOT NULL CHECK (sample BETWEEN 0 AND 11),
    trial INTEGER NOT NULL REFERENCES trial (id),
    checksum INTEGER NOT NULL,
    PRIMARY KEY (panel, sample)
) STRICT, WITHOUT ROWID;

-- What is put before the nose, in the order of smelling.
CREATE TABLE panel_serving (
    panel INTEGER NOT NULL REFERENCES panel (id),
    round INTEGER NOT NULL CHECK (round > 0), -- 1, 2, 3...: one answer each
    place INTEGER NOT NULL CHECK (place > 0), -- 1 is smelled first
    sample INTEGER NOT NULL CHECK (sample BETWEEN 0 AND 11),
    code INTEGER CHECK (code BETWEEN 100 AND 999), -- on the vial; NULL: a duo-trio's open reference
    checksum INTEGER NOT NULL,
    PRIMARY KEY (panel, round, place)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX panel_serving_code ON panel_serving (panel, code) WHERE code IS NOT NULL;

-- The answers; the newest row of a round counts.
CREATE TABLE panel_answer (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    panel INTEGER NOT NULL REFERENCES panel (id),
    round INTEGER NOT NULL CHECK (round > 0),
    answer TEXT NOT NULL CHECK (length(answer) > 0), -- codes: "417"; ranking, first place first,
                                                     -- ties joined: "417 236=902"
    assessor TEXT CHECK (length(assessor) > 0), -- NULL: the person themself
    at INTEGER NOT NULL,
    corrects INTEGER UNIQUE REFERENCES panel_answer (id) CHECK (corrects < id),
    checksum INTEGER NOT NULL
) STRICT;
CREATE INDEX panel_answer_round ON panel_answer (panel, round, id);

-- ---- what never changes ------------------------------------------------------------------------

CREATE TRIGGER application_facts BEFORE UPDATE ON application
WHEN NEW.id <> OLD.id OR NEW.trial <> OLD.trial OR NEW.medium <> OLD.medium
    OR NEW.strength IS NOT OLD.strength OR NEW.applied_at <> OLD.applied_at
    OR NEW.schedule <> OLD.schedule OR NEW.note IS NOT OLD.note OR NEW.made_at <> OLD.made_at BEGIN
    SELECT raise(ABORT, 'what was applied stays so; it can only be ended and taken up again');
END;
CREATE TRIGGER application_never_deleted BEFORE DELETE ON application BEGIN
    SELECT raise(ABORT, 'what was applied is never deleted, only ended');
END;
CREATE TRIGGER application_taken BEFORE INSERT ON application
WHEN EXISTS (SELECT 1 FROM application WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'what was applied is never replaced');
END;

CREATE TRIGGER smell_never_changed BEFORE UPDATE ON smell BEGIN
    SELECT raise(ABORT, 'a smell note is never changed, only corrected by another');
END;
CREATE TRIGGER smell_never_deleted BEFORE DELETE ON smell BEGIN
    SELECT raise(ABORT, 'a smell note is never deleted');
END;
CREATE TRIGGER smell_taken BEFORE INSERT ON smell
WHEN EXISTS (SELECT 1 FROM smell WHERE id = NEW.id
             OR (NEW.corrects IS NOT NULL AND corrects = NEW.corrects)) BEGIN
    SELECT raise(ABORT, 'a smell note is never replaced');
END;

CREATE TRIGGER panel_facts BEFORE UPDATE ON panel
WHEN OLD.closed_at IS NOT NULL OR NEW.id <> OLD.id OR NEW.name <> OLD.name
    OR NEW.folded <> OLD.folded OR NEW.kind <> OLD.kind OR NEW.question IS NOT OLD.question
    OR NEW.expected IS NOT OLD.expected OR NEW.alpha <> OLD.alpha OR NEW.rounds <> OLD.rounds
    OR NEW.seed <> OLD.seed OR NEW.made_at <> OLD.made_at BEGIN
    SELECT raise(ABORT, 'a blind test stays as it was made; it can only be closed, once');
END;
CREATE TRIGGER panel_never_deleted BEFORE DELETE ON panel BEGIN
    SELECT raise(ABORT, 'a blind test is never deleted');
END;
CREATE TRIGGER panel_taken BEFORE INSERT ON panel
WHEN EXISTS (SELECT 1 FROM panel WHERE id = NEW.id OR folded = NEW.folded) BEGIN
    SELECT raise(ABORT, 'a blind test is never replaced');
END;

CREATE TRIGGER panel_sample_never_changed BEFORE UPDATE ON panel_sample BEGIN
    SELECT raise(ABORT, 'the samples of a blind test never change');
END;
CREATE TRIGGER panel_sample_never_deleted BEFORE DELETE ON panel_sample BEGIN
    SELECT raise(ABORT, 'the samples of a blind test are never deleted');
END;
CREATE TRIGGER panel_sample_taken BEFORE INSERT ON panel_sample
WHEN EXISTS (SELECT 1 FROM panel_sample WHERE panel = NEW.panel AND sample = NEW.sample) BEGIN
    SELECT raise(ABORT, 'the samples of a blind test are never replaced');
END;

CREATE TRIGGER panel_serving_never_changed BEFORE UPDATE ON panel_serving BEGIN
    SELECT raise(ABORT, 'the codes of a blind test never change');
END;
CREATE TRIGGER panel_serving_never_deleted BEFORE DELETE ON panel_serving BEGIN
    SELECT raise(ABORT, 'the codes of a blind test are never deleted');
END;
CREATE TRIGGER panel_serving_taken BEFORE INSERT ON panel_serving
WHEN EXISTS (SELECT 1 FROM panel_serving WHERE panel = NEW.panel
             AND ((round = NEW.round AND place = NEW.place) OR code = NEW.code)) BEGIN
    SELECT raise(ABORT, 'the codes of a blind test are never replaced');
END;

CREATE TRIGGER panel_answer_never_changed BEFORE UPDATE ON panel_answer BEGIN
    SELECT raise(ABORT, 'an answer is never changed, only corrected by another');
END;
CREATE TRIGGER panel_answer_never_deleted BEFORE DELETE ON panel_answer BEGIN
    SELECT raise(ABORT, 'an answer is never deleted');
END;
CREATE TRIGGER panel_answer_taken BEFORE INSERT ON panel_answer
WHEN EXISTS (SELECT 1 FROM panel_answer WHERE id = NEW.id
             OR (NEW.corrects IS NOT NULL AND corrects = NEW.corrects)) BEGIN
    SELECT raise(ABORT, 'an answer is never replaced');
END;

-- ---- what else must hold -----------------------------------------------------------------------

CREATE TRIGGER application_of_kept BEFORE INSERT ON application
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NULL BEGIN
    SELECT raise(ABORT, 'only kept trials are smelled');
END;
CREATE TRIGGER smell_of_kept BEFORE INSERT ON smell
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NULL BEGIN
    SELECT raise(ABORT, 'only kept trials are smelled');
END;
CREATE TRIGGER smell_of_application BEFORE INSERT ON smell
WHEN NEW.application IS NOT NULL
    AND (SELECT trial FROM application WHERE id = NEW.application) IS NOT NEW.trial BEGIN
    SELECT raise(ABORT, 'a smell note is about the trial that was applied');
END;
CREATE TRIGGER panel_sample_of_kept BEFORE INSERT ON panel_sample
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NULL BEGIN
    SELECT raise(ABORT, 'only kept trials are tested');
END;
CREATE TRIGGER panel_answer_in_time BEFORE INSERT ON panel_answer
WHEN (SELECT closed_at FROM panel WHERE id = NEW.panel) IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a closed blind test takes no more answers');
END;
-- A round that was answered takes another answer only as the correction of the newest one.
CREATE TRIGGER panel_answer_once BEFORE INSERT ON panel_answer
WHEN NEW.corrects IS NOT (SELECT max(id) FROM panel_answer
                          WHERE panel = NEW.panel AND round = NEW.round) BEGIN
    SELECT raise(ABORT, 'a round is answered once; a correction names the answer it replaces');
END;
