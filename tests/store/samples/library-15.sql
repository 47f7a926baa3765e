PRAGMA foreign_keys=OFF;
BEGIN TRANSACTION;
CREATE TABLE library (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    -- Random number drawn by the last transaction: after a commit that reported an error it tells
    -- whether the change landed all the same.
    last_commit INTEGER NOT NULL
) STRICT;
INSERT INTO library VALUES(1,-3793281385467797448);
CREATE TABLE setting (
    key TEXT NOT NULL PRIMARY KEY CHECK (length(key) BETWEEN 1 AND 200),
    value TEXT NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
CREATE TABLE material_name (
    material INTEGER NOT NULL REFERENCES material (id),
    place INTEGER NOT NULL CHECK (place >= 0), -- 0 is the name, 1, 2, 3... are synonyms
    name TEXT NOT NULL CHECK (length(name) > 0),
    folded TEXT NOT NULL UNIQUE CHECK (length(folded) > 0), -- case and accents dropped
    checksum INTEGER NOT NULL,
    PRIMARY KEY (material, place)
) STRICT, WITHOUT ROWID;
INSERT INTO material_name VALUES(1,0,'Slate absolute','slate absolute',-8991298439770192937);
INSERT INTO material_name VALUES(1,1,'Black slate','black slate',7001507780690704940);
INSERT INTO material_name VALUES(2,0,'Fern acetate','fern acetate',-1345626337643817586);
INSERT INTO material_name VALUES(3,0,'Ash lactone','ash lactone',9144421149643652810);
INSERT INTO material_name VALUES(3,1,'Cinder ketone','cinder ketone',-7470122519107584991);
INSERT INTO material_name VALUES(3,2,'AL-1','al-1',1502496358642332631);
INSERT INTO material_name VALUES(4,0,'Plain spirit','plain spirit',-4602636796982426825);
CREATE TABLE material_search (
    block INTEGER PRIMARY KEY CHECK (block >= 0), -- material id / 32
    entries BLOB NOT NULL
) STRICT;
INSERT INTO material_search VALUES(0,X'f8f9f809736c617465206162736f6c75746509626c61636b20736c617465090af8faf8096665726e2061636574617465093130362d32322d390af8fbf809617368206c6163746f6e650963696e646572206b65746f6e6509616c2d31090af8fcf809706c61696e207370697269740936342d31372d350a');
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
INSERT INTO formula VALUES(1,'Damp stone','damp stone',1,0,1772460000,1772460120,1,2,-2711358976135203054,2567661357805957308);
INSERT INTO formula VALUES(2,'Quarry after rain','quarry after rain',0,0,1772460120,1772460420,2,5,-6235321578226350378,8205999558827071391);
INSERT INTO formula VALUES(3,'Weighed','weighed',0,0,1772460420,1772460480,0,1,-6558892921011868272,-4015494051704773540);
CREATE TABLE material_use (
    material INTEGER NOT NULL REFERENCES material (id),
    formula INTEGER NOT NULL REFERENCES formula (id),
    PRIMARY KEY (material, formula)
) STRICT, WITHOUT ROWID;
INSERT INTO material_use VALUES(1,1);
INSERT INTO material_use VALUES(1,3);
INSERT INTO material_use VALUES(2,1);
INSERT INTO material_use VALUES(2,2);
INSERT INTO material_use VALUES(2,3);
INSERT INTO material_use VALUES(3,2);
INSERT INTO material_use VALUES(3,3);
INSERT INTO material_use VALUES(4,2);
INSERT INTO material_use VALUES(4,3);
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
INSERT INTO revision VALUES(1,1,1,1,NULL,NULL,1772460060,'set','Set both',replace('change 1\n','\n',char(10)),0,4110632630697042700);
INSERT INTO revision VALUES(2,1,2,1,1,NULL,1772460120,'keep','Kept the trial',NULL,4110632630697042700,-2711358976135203054);
INSERT INTO revision VALUES(3,2,1,3,NULL,NULL,1772460180,'set','Added Fern acetate at 12',replace('change 1\n','\n',char(10)),0,-8204971947652032925);
INSERT INTO revision VALUES(4,2,2,3,3,NULL,1772460240,'set','Added Damp stone and Ash lactone',replace('change 1\n','\n',char(10)),-8204971947652032925,4087467980462463017);
INSERT INTO revision VALUES(5,2,3,3,4,NULL,1772460300,'keep','Kept the trial',NULL,4087467980462463017,2847065298386033341);
INSERT INTO revision VALUES(6,2,4,4,4,NULL,1772460360,'set','Set Fern acetate from 12 to 14',replace('change 1\n','\n',char(10)),2847065298386033341,-4805337112967504103);
INSERT INTO revision VALUES(7,2,5,4,6,NULL,1772460420,'keep','Kept the trial',NULL,-4805337112967504103,-6235321578226350378);
INSERT INTO revision VALUES(8,3,1,6,NULL,NULL,1772460480,'set','Weighed a core',replace('change 1\n','\n',char(10)),0,-6558892921011868272);
CREATE TABLE trial_mark (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    trial INTEGER NOT NULL REFERENCES trial (id),
    label TEXT, -- NULL: none, or taken away
    set_aside INTEGER NOT NULL CHECK (set_aside IN (0, 1)),
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO trial_mark VALUES(1,3,'too green',0,1772460300,-6233372092929154487);
CREATE TABLE material_starter (
    material INTEGER PRIMARY KEY REFERENCES material (id) ON DELETE CASCADE,
    name TEXT NOT NULL UNIQUE CHECK (length(name) > 0),
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO material_starter VALUES(1,'slate absolute',-521113760052016752);
CREATE TABLE bottle (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    material INTEGER NOT NULL REFERENCES material (id),
    strength INTEGER NOT NULL CHECK (strength BETWEEN 1 AND 1000000000),
    solvent INTEGER REFERENCES material (id), -- NULL exactly when neat
    lot TEXT,
    supplier TEXT,
    bought INTEGER, -- days; NULL: unknown
    opened INTEGER,
    best_before INTEGER,
    place TEXT,
    tare INTEGER CHECK (tare > 0), -- mass of the empty bottle
    price INTEGER CHECK (price >= 0), -- paid for priced_mass of its content; NULL: unknown
    currency TEXT CHECK (length(currency) = 3), -- ISO 4217
    priced_mass INTEGER CHECK (priced_mass > 0),
    note TEXT,
    made_from INTEGER REFERENCES bottle (id) CHECK (made_from <> id), -- the stock it was diluted from
    set_aside INTEGER NOT NULL CHECK (set_aside IN (0, 1)), -- finished, or entered by mistake
    made_at INTEGER NOT NULL, -- when it was entered
    checksum INTEGER NOT NULL,
    CHECK ((strength = 1000000000) = (solvent IS NULL)),
    CHECK ((price IS NULL) = (currency IS NULL) AND (price IS NULL) = (priced_mass IS NULL))
) STRICT;
INSERT INTO bottle VALUES(1,1,100000000,4,'S-17',NULL,20512,NULL,0,'top shelf',NULL,19200000,'EUR',20000000,NULL,NULL,0,1772460420,-8984340821976040321);
INSERT INTO bottle VALUES(2,1,1000000000,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,0,1772460480,8544870094548798161);
CREATE TABLE movement (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    bottle INTEGER NOT NULL REFERENCES bottle (id),
    kind TEXT NOT NULL CHECK (kind IN ('received', 'poured', 'counted', 'moved', 'spilled',
                                       'discarded', 'corrected')),
    mass INTEGER NOT NULL CHECK (mass BETWEEN -9000000000000000 AND 9000000000000000), -- signed
    found INTEGER CHECK (found >= 0), -- counted: what was there; mass is the difference it made
    other INTEGER REFERENCES bottle (id) CHECK (other <> bottle), -- where it went to or came from
    purpose TEXT, -- what it was poured for
    note TEXT,
    corrects INTEGER REFERENCES movement (id), -- the movement a correction is about
    at INTEGER NOT NULL, -- when it happened
    checksum INTEGER NOT NULL, trial INTEGER REFERENCES trial (id), batch INTEGER REFERENCES batch (id),
    CHECK ((kind = 'counted') = (found IS NOT NULL)),
    CHECK ((kind = 'corrected') = (corrects IS NOT NULL)),
    CHECK (kind <> 'received' OR mass > 0),
    CHECK (kind NOT IN ('poured', 'moved', 'spilled', 'discarded') OR mass < 0)
) STRICT;
INSERT INTO movement VALUES(1,1,'received',20000000,NULL,NULL,NULL,NULL,NULL,1772460420,-3221665386647579369,NULL,NULL);
INSERT INTO movement VALUES(2,1,'poured',-3000000,NULL,NULL,NULL,NULL,NULL,1772460420,8592895275175952519,NULL,NULL);
INSERT INTO movement VALUES(3,2,'poured',-19000000,NULL,NULL,NULL,NULL,NULL,1772460480,3620682167376534104,4,2);
CREATE TABLE bottle_left (
    bottle INTEGER PRIMARY KEY REFERENCES bottle (id),
    mass INTEGER NOT NULL,
    movements INTEGER NOT NULL CHECK (movements >= 0)
) STRICT;
INSERT INTO bottle_left VALUES(1,17000000,2);
INSERT INTO bottle_left VALUES(2,-19000000,1);
CREATE TABLE currency_rate (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    currency TEXT NOT NULL CHECK (length(currency) = 3),
    other TEXT NOT NULL CHECK (length(other) = 3 AND other <> currency),
    rate INTEGER NOT NULL CHECK (rate > 0),
    day INTEGER NOT NULL,
    at INTEGER NOT NULL, -- when it was entered
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO currency_rate VALUES(1,'USD','EUR',920000000,20514,1772460420,-7805141446271685037);
CREATE TABLE shelf_entry (
    id INTEGER PRIMARY KEY CHECK (id > 0), -- 1, 2, 3... without gaps
    parent INTEGER REFERENCES shelf_entry (id), -- the entry it was made on; NULL: the first
    target INTEGER REFERENCES shelf_entry (id), -- the entry undone or redone
    at INTEGER NOT NULL,
    gesture TEXT NOT NULL CHECK (length(gesture) > 0), -- "edit", "bottle", "dilute", "undo"...
    sentence TEXT NOT NULL, -- for the person
    change TEXT, -- rows before and after, movements made: src/store/shelf_log.c
    checksum INTEGER NOT NULL,
    CHECK ((gesture IN ('undo', 'redo')) = (target IS NOT NULL)),
    CHECK (target IS NULL OR change IS NULL)
) STRICT;
INSERT INTO shelf_entry VALUES(1,NULL,NULL,1772460420,'bottle','New bottle of Slate absolute','[["bottle",1,null,"[1,100000000,4,\"S-17\",null,20512,null,0,\"top shelf\",null,19200000,\"EUR\",20000000,null,null,0,1772460420]"],["movement",1],["movement",2]]',7295800807321136227);
CREATE TABLE shelf_head (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    entry INTEGER REFERENCES shelf_entry (id) -- NULL: before the first
) STRICT;
INSERT INTO shelf_head VALUES(1,1);
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
INSERT INTO application VALUES(1,3,'blotter',NULL,1772460420,'0, 5 min, 1 h',NULL,NULL,1772460420,3770944457991518335);
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
INSERT INTO smell VALUES(1,3,1,'blotter',NULL,300,6,NULL,'wet slate',NULL,1772460420,1772460420,NULL,0,-4385248658290722894);
INSERT INTO smell VALUES(2,3,1,'blotter',NULL,300,6,NULL,'wet slate, then cold smoke',NULL,1772460420,1772460420,1,0,-2045148370865777611);
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
INSERT INTO panel VALUES(1,'First or second','first or second','duo-trio',NULL,NULL,50000000,2,0,1772460420,NULL,3961425562884657456);
CREATE TABLE panel_sample (
    panel INTEGER NOT NULL REFERENCES panel (id),
    sample INTEGER NOT NULL CHECK (sample BETWEEN 0 AND 11),
    trial INTEGER NOT NULL REFERENCES trial (id),
    checksum INTEGER NOT NULL,
    PRIMARY KEY (panel, sample)
) STRICT, WITHOUT ROWID;
INSERT INTO panel_sample VALUES(1,0,3,-4746711078102863803);
INSERT INTO panel_sample VALUES(1,1,4,1866390701344569653);
CREATE TABLE panel_serving (
    panel INTEGER NOT NULL REFERENCES panel (id),
    round INTEGER NOT NULL CHECK (round > 0), -- 1, 2, 3...: one answer each
    place INTEGER NOT NULL CHECK (place > 0), -- 1 is smelled first
    sample INTEGER NOT NULL CHECK (sample BETWEEN 0 AND 11),
    code INTEGER CHECK (code BETWEEN 100 AND 999), -- on the vial; NULL: a duo-trio's open reference
    checksum INTEGER NOT NULL,
    PRIMARY KEY (panel, round, place)
) STRICT, WITHOUT ROWID;
INSERT INTO panel_serving VALUES(1,1,1,0,NULL,-967906589052120832);
INSERT INTO panel_serving VALUES(1,1,2,0,417,-5466923314573226967);
INSERT INTO panel_serving VALUES(1,1,3,1,236,-5657437120181756528);
INSERT INTO panel_serving VALUES(1,2,1,1,NULL,8803080463549071697);
INSERT INTO panel_serving VALUES(1,2,2,0,902,-304965507376848828);
INSERT INTO panel_serving VALUES(1,2,3,1,158,-8503522282823147271);
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
INSERT INTO panel_answer VALUES(1,1,1,'417',NULL,1772460420,NULL,-1307896496320287081);
CREATE TABLE substance (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    name TEXT NOT NULL CHECK (length(name) > 0),
    folded TEXT NOT NULL UNIQUE CHECK (length(folded) > 0), -- case and accents dropped
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO substance VALUES(1,'Fern acetate','fern acetate',3679408278048773936);
CREATE TABLE substance_cas (
    substance INTEGER NOT NULL REFERENCES substance (id),
    cas TEXT NOT NULL CHECK (length(cas) BETWEEN 7 AND 12), -- check digit verified
    checksum INTEGER NOT NULL,
    PRIMARY KEY (substance, cas)
) STRICT, WITHOUT ROWID;
INSERT INTO substance_cas VALUES(1,'106-22-9',-8271514841084122553);
CREATE TABLE constituent (
    material INTEGER NOT NULL REFERENCES material (id) ON DELETE CASCADE,
    origin TEXT NOT NULL CHECK (origin IN ('own', 'starter')),
    place INTEGER NOT NULL CHECK (place >= 0), -- order shown
    substance INTEGER NOT NULL REFERENCES substance (id),
    least INTEGER CHECK (least BETWEEN 0 AND 1000000000), -- mass fractions in 1e-9; NULL: unknown
    typical INTEGER CHECK (typical BETWEEN 0 AND 1000000000),
    most INTEGER CHECK (most BETWEEN 0 AND 1000000000),
    source TEXT,
    confidence TEXT NOT NULL CHECK (confidence IN ('checked', 'memory', 'own')),
    checksum INTEGER NOT NULL,
    PRIMARY KEY (material, origin, place)
) STRICT, WITHOUT ROWID;
INSERT INTO constituent VALUES(1,'own',0,1,NULL,20000000,35000000,NULL,'own',2513765267155020269);
CREATE TABLE batch (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    trial INTEGER NOT NULL REFERENCES trial (id),
    mass INTEGER NOT NULL CHECK (mass BETWEEN 1 AND 9000000000000000),
    day INTEGER, -- civil day it is meant for; NULL: some time
    note TEXT,
    made_by TEXT CHECK (length(made_by) > 0), -- who weighs it; NULL: the person themself
    made_at INTEGER NOT NULL, -- when it was entered
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO batch VALUES(1,4,30000000,NULL,NULL,NULL,1772460420,-154895316676245341);
INSERT INTO batch VALUES(2,4,20000000,NULL,NULL,NULL,1772460480,-4365031306017488078);
CREATE TABLE batch_event (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    batch INTEGER NOT NULL REFERENCES batch (id),
    kind TEXT NOT NULL CHECK (kind IN ('planned', 'started', 'paused', 'finished', 'given up',
                                       'note')),
    at INTEGER NOT NULL,
    text TEXT, -- in words; or NULL
    checksum INTEGER NOT NULL,
    CHECK (kind <> 'note' OR length(text) > 0)
) STRICT;
INSERT INTO batch_event VALUES(1,1,'planned',1772460420,NULL,5115718348996944927);
INSERT INTO batch_event VALUES(2,2,'started',1772460480,NULL,-7369459224129881697);
CREATE TABLE IF NOT EXISTS "trial" (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    formula INTEGER NOT NULL REFERENCES formula (id),
    number INTEGER CHECK (number > 0), -- 1, 2, 3... in the order kept; NULL for the draft
    parent INTEGER REFERENCES trial (id), -- kept trial it was started from
    head INTEGER REFERENCES revision (id), -- revision whose state it shows; NULL before the first
    mode TEXT NOT NULL CHECK (mode IN ('core', 'share', 'carrier', 'open')),
    base INTEGER NOT NULL CHECK (base BETWEEN 1 AND 1000000000000), -- total it is written to
    settled INTEGER NOT NULL CHECK (settled IN (0, 1)), -- the total is the base
    next_line INTEGER NOT NULL CHECK (next_line > 0), -- number for the next line added
    line_count INTEGER NOT NULL CHECK (line_count >= 0),
    total INTEGER NOT NULL CHECK (total >= 0), -- sum of the lines' parts
    content INTEGER NOT NULL, -- CRC-64 over all lines in their order
    made_at INTEGER NOT NULL,
    kept_at INTEGER, -- NULL for the draft
    note TEXT, -- given when kept
    scale_digits INTEGER CHECK (scale_digits BETWEEN 2305843009213693952 AND 4611686018427387903),
    scale_power INTEGER CHECK (scale_power BETWEEN 0 AND 4096), -- what a micro-part weighs:
        -- digits x 2^(power - 2048); NULL: one
    checksum INTEGER NOT NULL,
    UNIQUE (formula, number),
    CHECK ((scale_digits IS NULL) = (scale_power IS NULL)),
    CHECK ((number IS NULL) = (kept_at IS NULL))
) STRICT;
INSERT INTO trial VALUES(1,1,1,NULL,1,'open',100000000,1,3,2,100000000,1984745800866209887,1772460000,1772460120,NULL,NULL,NULL,-656295051821502578);
INSERT INTO trial VALUES(2,1,NULL,1,1,'open',100000000,1,3,2,100000000,1984745800866209887,1772460120,NULL,NULL,NULL,NULL,-1850063860673247820);
INSERT INTO trial VALUES(3,2,1,NULL,4,'open',1000000000,0,4,3,312000001,8973392831473710218,1772460120,1772460300,'First try',NULL,NULL,-4654315847633112822);
INSERT INTO trial VALUES(4,2,2,3,6,'open',1000000000,0,4,3,314000001,-7578719959845033229,1772460300,1772460420,'Second',NULL,NULL,-5556683794559037329);
INSERT INTO trial VALUES(5,2,NULL,4,6,'open',1000000000,0,4,3,314000001,-7578719959845033229,1772460420,NULL,NULL,NULL,NULL,-8610822161341856101);
INSERT INTO trial VALUES(6,3,NULL,NULL,8,'core',1000000000,1,5,4,1000000000,5094298395596909514,1772460420,NULL,NULL,3425500464367382654,1986,8172996661499686784);
CREATE TABLE limit_rule (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    rule_set TEXT NOT NULL CHECK (length(rule_set) > 0), -- the set's name
    own INTEGER NOT NULL CHECK (own IN (0, 1)), -- 1: the person's own figure, counts in place of
                                                -- the rule of that name in the set `replaces`
    replaces TEXT, -- NULL: of none
    name TEXT NOT NULL CHECK (length(name) > 0), -- of the rule
    kind TEXT NOT NULL CHECK (kind IN ('limit', 'prohibit', 'declare', 'check')),
    members TEXT, -- other names of the substances it sums, ';' between; NULL: none
    cas TEXT, -- their CAS numbers, blanks between; NULL: none
    scope TEXT NOT NULL CHECK (length(scope) > 0), -- 'category 4', 'leave-on'
    percent INTEGER CHECK (percent BETWEEN 0 AND 1000000000), -- mass fraction of the product in 1e-9
    unlimited INTEGER NOT NULL CHECK (unlimited IN (0, 1)), -- 1: it says that there is no limit
    note TEXT,
    source TEXT NOT NULL CHECK (length(source) > 0), -- where the figure is from
    dated TEXT, -- of the source: a date or an edition
    made_at INTEGER NOT NULL, -- when it was entered
    checksum INTEGER NOT NULL,
    CHECK (unlimited = 0 OR percent IS NULL)
) STRICT;
INSERT INTO limit_rule VALUES(1,'Own limits',1,'IFRA Standards','Fern acetate','limit',NULL,'106-22-9','category 4',12500000,0,'per mail','supplier','2026-10-01',1772460480,2699303232212227789);
INSERT INTO limit_rule VALUES(2,'Island rules',0,NULL,'Fern acetate','limit','Fern;Bracken',NULL,'leave-on',NULL,1,NULL,'gazette',NULL,1772460480,-3637650915101671703);
INSERT INTO limit_rule VALUES(3,'Island rules',0,NULL,'Moss','prohibit',NULL,NULL,'all',NULL,0,NULL,'gazette',NULL,1772460480,-4567236592130653340);
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
INSERT INTO series VALUES(1,'Slate, rising','slate, rising','ratios',2,replace('Slate absolute\nFern acetate','\n',char(10)),'0-1000000000 0-400000000',1,1772460480,-7256172519363388724);
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
INSERT INTO series_trial VALUES(1,0,3,NULL,'1:0',NULL,NULL,4564971690027104911);
INSERT INTO series_trial VALUES(1,1,4,NULL,'3:2',NULL,1,-1331200323795394949);
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
INSERT INTO rating VALUES(1,1,3,6500000,1772460480,NULL,5452282734183728170);
INSERT INTO rating VALUES(2,1,3,7000000,1772460480,1,258226079814646747);
CREATE TABLE calibration (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    smell INTEGER NOT NULL REFERENCES smell (id),
    material INTEGER NOT NULL REFERENCES material (id),
    remaining INTEGER NOT NULL CHECK (remaining BETWEEN 1 AND 999999999), -- 1e-9 of its start that
        -- counts as gone
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO calibration VALUES(1,2,1,100000000,1772460480,6722455826446831239);
CREATE TABLE balance (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    name TEXT NOT NULL CHECK (length(name) > 0),
    folded TEXT NOT NULL UNIQUE CHECK (length(folded) > 0), -- case and accents dropped
    readability INTEGER NOT NULL CHECK (readability BETWEEN 1 AND 9000000000000000), -- ug, one step
    repeatability INTEGER CHECK (repeatability > 0), -- ug, standard deviation; NULL: not measured
    least INTEGER CHECK (least > 0), -- ug, the smallest amount trusted; NULL: as the rule says
    capacity INTEGER CHECK (capacity > 0), -- ug; NULL: unknown
    made_at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO balance VALUES(1,'Kitchen','kitchen',10000,NULL,NULL,NULL,1772460480,-4702275819864382886);
CREATE TABLE batch_plan (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    batch INTEGER NOT NULL REFERENCES batch (id),
    balance TEXT, -- its name then; NULL: none of those kept
    readability INTEGER NOT NULL CHECK (readability > 0), -- the balance as it was then
    repeatability INTEGER CHECK (repeatability > 0),
    least INTEGER CHECK (least > 0),
    capacity INTEGER CHECK (capacity > 0),
    tolerance INTEGER NOT NULL CHECK (tolerance BETWEEN 1 AND 1000000000), -- 1e-9, k = 2
    cumulative INTEGER NOT NULL CHECK (cumulative IN (0, 1)), -- read without taring between pours
    way TEXT NOT NULL CHECK (way IN ('planned', 'restore', 'core', 'pull', 'accept')), -- why
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO batch_plan VALUES(1,2,'Kitchen',10000,NULL,NULL,NULL,20000000,0,'planned',1772460480,5107143914783723686);
CREATE TABLE batch_line (
    plan INTEGER NOT NULL REFERENCES batch_plan (id),
    place INTEGER NOT NULL CHECK (place > 0),
    line INTEGER NOT NULL CHECK (line > 0), -- of the trial: the first that asks for it
    material INTEGER NOT NULL REFERENCES material (id),
    bottle INTEGER REFERENCES bottle (id), -- NULL: none was on the shelf
    strength INTEGER NOT NULL CHECK (strength BETWEEN 1 AND 1000000000),
    solvent INTEGER REFERENCES material (id), -- NULL when neat
    target INTEGER NOT NULL CHECK (target BETWEEN 0 AND 9000000000000000), -- ug
    checksum INTEGER NOT NULL,
    PRIMARY KEY (plan, place)
) STRICT, WITHOUT ROWID;
INSERT INTO batch_line VALUES(1,1,1,1,2,1000000000,NULL,20000000,568755808706826384);
CREATE TABLE batch_pour (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    batch INTEGER NOT NULL REFERENCES batch (id),
    place INTEGER NOT NULL CHECK (place > 0), -- of its plan's line
    bottle INTEGER REFERENCES bottle (id), -- NULL: from none on the shelf
    mass INTEGER NOT NULL CHECK (mass BETWEEN 0 AND 9000000000000000), -- ug
    movement INTEGER REFERENCES movement (id), -- in the ledger; NULL: from no bottle, or nothing
    corrects INTEGER REFERENCES batch_pour (id), -- the pour it takes the place of
    note TEXT,
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL,
    CHECK (corrects < id)
) STRICT;
INSERT INTO batch_pour VALUES(1,2,1,2,19000000,3,NULL,NULL,1772460480,5452164554711951584);
INSERT INTO batch_pour VALUES(2,2,1,NULL,20000000,NULL,1,NULL,1772460480,-6264792278363450263);
CREATE TABLE made_up (
    trial INTEGER PRIMARY KEY REFERENCES trial (id), -- a kept one
    material INTEGER NOT NULL REFERENCES material (id),
    made_at INTEGER NOT NULL, -- when it was made up first
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO made_up VALUES(4,1,1772460480,1276669211149208420);
CREATE TABLE filling (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    batch INTEGER REFERENCES batch (id), -- what the concentrate is of; NULL: something else
    concentrate INTEGER NOT NULL CHECK (concentrate > 0), -- ug, as all masses here
    ethanol INTEGER NOT NULL CHECK (ethanol >= 0),
    water INTEGER NOT NULL CHECK (water >= 0),
    other INTEGER NOT NULL CHECK (other >= 0),
    at_hand INTEGER NOT NULL CHECK (at_hand BETWEEN 1 AND 1000000000), -- the ethanol's strength by
        -- volume, 1e-9
    bottles INTEGER CHECK (bottles >= 0), -- NULL: not counted
    filter_on INTEGER, -- civil day on which it is to be filtered; NULL: none
    ready_on INTEGER, -- civil day until which it matures; NULL: none
    note TEXT,
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO filling VALUES(1,2,20000000,80000000,0,0,960000000,1,20542,NULL,NULL,1772460480,-3117989342888942046);
CREATE TABLE ceiling (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    formula INTEGER REFERENCES formula (id), -- NULL: every formula that has none of its own
    kind TEXT NOT NULL CHECK (kind IN ('family', 'volatility')),
    name TEXT NOT NULL CHECK (length(name) > 0),
    folded TEXT NOT NULL CHECK (length(folded) > 0), -- case and accents dropped
    most INTEGER NOT NULL CHECK (most BETWEEN 0 AND 1000000000000), -- share, 1e-12
    made_at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO ceiling VALUES(1,NULL,'family','Moss','moss',100000000000,1772460480,-6967710056202090611);
INSERT INTO ceiling VALUES(2,1,'volatility','top','top',250000000000,1772460480,6179627088230496937);
CREATE TABLE filling_event (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    filling INTEGER NOT NULL REFERENCES filling (id),
    kind TEXT NOT NULL CHECK (kind IN ('filtered', 'matured', 'filter on', 'ready on')),
    day INTEGER CHECK (day IS NULL OR kind IN ('filter on', 'ready on')), -- civil; NULL: none any more
    note TEXT,
    at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO filling_event VALUES(1,1,'filtered',NULL,'clear',1772460480,-6018546282429977620);
INSERT INTO filling_event VALUES(2,1,'ready on',20572,NULL,1772460480,4793028137385304534);
CREATE TABLE IF NOT EXISTS "line" (
    trial INTEGER NOT NULL REFERENCES trial (id),
    line INTEGER NOT NULL CHECK (line > 0), -- stays with the line through every gesture
    place INTEGER NOT NULL CHECK (place >= 0), -- order shown, from 0
    material INTEGER REFERENCES material (id), -- either a material
    accord INTEGER REFERENCES trial (id), -- or a kept trial of another formula
    strength INTEGER NOT NULL CHECK (strength BETWEEN 1 AND 1000000000),
    solvent INTEGER REFERENCES material (id), -- NULL exactly when neat
    parts INTEGER NOT NULL CHECK (parts BETWEEN 0 AND 1000000000000), -- as poured
    stance TEXT NOT NULL CHECK (stance = 'free' OR stance = 'held' OR stance = 'carrier'
                                OR stance = 'resting'),
    core INTEGER NOT NULL CHECK (core BETWEEN 0 AND 702), -- 0: in no core
    weight INTEGER NOT NULL CHECK (weight BETWEEN 0 AND 1000000000000000000), -- in the core's
        -- neat ratio
    comment TEXT,
    share_digits INTEGER CHECK (share_digits BETWEEN 2305843009213693952 AND 4611686018427387903),
    share_power INTEGER CHECK (share_power BETWEEN 0 AND 4096), -- what a free line weighs, as the
        -- trial's scale; NULL: what its parts are worth
    rested INTEGER CHECK (rested BETWEEN 1 AND 1000000000000), -- parts a resting line had
    rested_as TEXT CHECK (rested_as IS NULL OR (stance = 'resting' AND (rested_as = 'held'
        OR rested_as = 'carrier'))), -- NULL: it was free
    PRIMARY KEY (trial, line),
    CHECK ((material IS NULL) <> (accord IS NULL)),
    CHECK ((strength = 1000000000) = (solvent IS NULL)),
    CHECK (accord IS NULL OR strength = 1000000000),
    CHECK ((core = 0) = (weight = 0)),
    CHECK (stance <> 'carrier' OR core = 0),
    CHECK ((share_digits IS NULL) = (share_power IS NULL)),
    CHECK (share_digits IS NULL OR stance = 'free' OR stance = 'carrier'),
    CHECK (stance <> 'resting' OR parts = 0),
    CHECK (rested IS NULL OR stance = 'resting')
) STRICT, WITHOUT ROWID;
INSERT INTO line VALUES(1,1,0,1,NULL,1000000000,NULL,60000000,'free',0,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(1,2,1,2,NULL,1000000000,NULL,40000000,'free',0,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(2,1,0,1,NULL,1000000000,NULL,60000000,'free',0,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(2,2,1,2,NULL,1000000000,NULL,40000000,'free',0,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(3,1,1,2,NULL,1000000000,NULL,12000000,'free',0,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(3,2,0,NULL,1,1000000000,NULL,300000000,'held',0,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(3,3,2,3,NULL,100000000,4,1,'free',0,0,'a trace, "quoted"',NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(4,1,1,2,NULL,1000000000,NULL,14000000,'free',0,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(4,2,0,NULL,1,1000000000,NULL,300000000,'held',0,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(4,3,2,3,NULL,100000000,4,1,'free',0,0,'a trace, "quoted"',NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(5,1,1,2,NULL,1000000000,NULL,14000000,'free',0,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(5,2,0,NULL,1,1000000000,NULL,300000000,'held',0,0,NULL,NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(5,3,2,3,NULL,100000000,4,1,'free',0,0,'a trace, "quoted"',NULL,NULL,NULL,NULL);
INSERT INTO line VALUES(6,1,0,1,NULL,1000000000,NULL,231386238,'free',1,3,NULL,2952716004716775819,2014,NULL,NULL);
INSERT INTO line VALUES(6,2,1,2,NULL,100347860,4,768613762,'free',1,1,NULL,2452066910641954081,2016,NULL,NULL);
INSERT INTO line VALUES(6,3,2,3,NULL,1000000000,NULL,0,'resting',0,0,NULL,NULL,NULL,16550000,NULL);
INSERT INTO line VALUES(6,4,3,1,NULL,1000000000,NULL,0,'resting',0,0,NULL,NULL,NULL,7117800,'held');
CREATE TABLE IF NOT EXISTS "material" (
    id INTEGER PRIMARY KEY CHECK (id > 0),
    kind TEXT NOT NULL CHECK (kind = 'chemical' OR kind = 'natural' OR kind = 'solvent'
                              OR kind = 'blend'),
    cas TEXT CHECK (length(cas) BETWEEN 7 AND 12), -- "106-22-9", check digit verified; or unknown
    family TEXT CHECK (length(family) > 0),        -- odour family in the person's own word
    note TEXT,
    set_aside INTEGER NOT NULL CHECK (set_aside IN (0, 1)), -- out of sight, still referred to
    merged_into INTEGER REFERENCES material (id) CHECK (merged_into <> id), -- what it turned out to be
    made_at INTEGER NOT NULL,
    checksum INTEGER NOT NULL
) STRICT;
INSERT INTO material VALUES(1,'natural',NULL,NULL,NULL,0,NULL,1772460000,-8360970841421230017);
INSERT INTO material VALUES(2,'chemical','106-22-9',NULL,NULL,0,NULL,1772460000,1474977517162279151);
INSERT INTO material VALUES(3,'chemical',NULL,NULL,NULL,0,NULL,1772460000,-3554723777927284467);
INSERT INTO material VALUES(4,'solvent','64-17-5',NULL,NULL,0,NULL,1772460000,-8444867173524927550);
CREATE TABLE IF NOT EXISTS "material_fact" (
    material INTEGER NOT NULL REFERENCES material (id) ON DELETE CASCADE,
    property TEXT NOT NULL CHECK (length(property) > 0), -- "density": include/permille/core/fact.h
    origin TEXT NOT NULL CHECK (origin IN ('own', 'starter')),
    value INTEGER, -- 1e-9 of the property's unit, which never changes; or
    words TEXT CHECK (length(words) > 0),
    source TEXT, -- where it is published, or who said so
    confidence TEXT NOT NULL CHECK (confidence = 'checked' OR confidence = 'memory'
                                    OR confidence = 'own'),
    checksum INTEGER NOT NULL,
    PRIMARY KEY (material, property, origin),
    CHECK ((value IS NULL) <> (words IS NULL))
) STRICT, WITHOUT ROWID;
INSERT INTO material_fact VALUES(1,'density','own',912000000,NULL,'own weighing','own',5058211772352018228);
CREATE INDEX revision_parent ON revision (formula, parent, id);
CREATE INDEX revision_trial ON revision (trial, number);
CREATE INDEX trial_mark_trial ON trial_mark (trial, id);
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
CREATE TRIGGER trial_mark_of_kept BEFORE INSERT ON trial_mark
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NULL BEGIN
    SELECT raise(ABORT, 'only kept trials are labelled');
END;
CREATE INDEX bottle_material ON bottle (material);
CREATE INDEX bottle_solvent ON bottle (solvent) WHERE solvent IS NOT NULL;
CREATE INDEX bottle_best_before ON bottle (best_before) WHERE best_before IS NOT NULL;
CREATE INDEX movement_bottle ON movement (bottle, id);
CREATE INDEX movement_corrects ON movement (corrects) WHERE corrects IS NOT NULL;
CREATE INDEX currency_rate_pair ON currency_rate (currency, other, day, id);
CREATE INDEX shelf_entry_parent ON shelf_entry (parent, id);
CREATE TRIGGER bottle_never_deleted BEFORE DELETE ON bottle BEGIN
    SELECT raise(ABORT, 'a bottle is never deleted, only set aside');
END;
CREATE TRIGGER bottle_identity BEFORE UPDATE ON bottle
WHEN NEW.id <> OLD.id OR NEW.made_at <> OLD.made_at BEGIN
    SELECT raise(ABORT, 'a bottle keeps its number');
END;
CREATE TRIGGER movement_never_deleted BEFORE DELETE ON movement BEGIN
    SELECT raise(ABORT, 'a movement is never deleted');
END;
CREATE TRIGGER movement_taken BEFORE INSERT ON movement
WHEN EXISTS (SELECT 1 FROM movement WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'a movement is never replaced');
END;
CREATE TRIGGER currency_rate_never_deleted BEFORE DELETE ON currency_rate BEGIN
    SELECT raise(ABORT, 'a rate is never deleted');
END;
CREATE TRIGGER currency_rate_taken BEFORE INSERT ON currency_rate
WHEN EXISTS (SELECT 1 FROM currency_rate WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'a rate is never replaced');
END;
CREATE TRIGGER shelf_entry_never_deleted BEFORE DELETE ON shelf_entry BEGIN
    SELECT raise(ABORT, 'an entry of the shelf''s history is never deleted');
END;
CREATE TRIGGER shelf_entry_taken BEFORE INSERT ON shelf_entry
WHEN EXISTS (SELECT 1 FROM shelf_entry WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'an entry of the shelf''s history is never replaced');
END;
CREATE TRIGGER bottle_left_begins AFTER INSERT ON bottle BEGIN
    INSERT INTO bottle_left (bottle, mass, movements) VALUES (NEW.id, 0, 0);
END;
CREATE TRIGGER bottle_left_follows AFTER INSERT ON movement BEGIN
    UPDATE bottle_left SET mass = mass + NEW.mass, movements = movements + 1
    WHERE bottle = NEW.bottle;
END;
CREATE TRIGGER movement_corrects_own BEFORE INSERT ON movement
WHEN NEW.corrects IS NOT NULL
    AND (SELECT bottle FROM movement WHERE id = NEW.corrects) IS NOT NEW.bottle BEGIN
    SELECT raise(ABORT, 'a correction is about a movement of the same bottle');
END;
CREATE INDEX application_running ON application (applied_at) WHERE ended_at IS NULL;
CREATE INDEX application_trial ON application (trial);
CREATE INDEX smell_trial ON smell (trial, since, id);
CREATE INDEX smell_application ON smell (application) WHERE application IS NOT NULL;
CREATE UNIQUE INDEX panel_serving_code ON panel_serving (panel, code) WHERE code IS NOT NULL;
CREATE INDEX panel_answer_round ON panel_answer (panel, round, id);
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
CREATE TRIGGER panel_answer_once BEFORE INSERT ON panel_answer
WHEN NEW.corrects IS NOT (SELECT max(id) FROM panel_answer
                          WHERE panel = NEW.panel AND round = NEW.round) BEGIN
    SELECT raise(ABORT, 'a round is answered once; a correction names the answer it replaces');
END;
CREATE TRIGGER panel_facts BEFORE UPDATE ON panel
WHEN OLD.closed_at IS NOT NULL OR NEW.id <> OLD.id OR NEW.name <> OLD.name
    OR NEW.folded <> OLD.folded OR NEW.kind <> OLD.kind OR NEW.question IS NOT OLD.question
    OR NEW.expected IS NOT OLD.expected OR NEW.alpha <> OLD.alpha OR NEW.rounds <> OLD.rounds
    OR NEW.seed <> OLD.seed OR NEW.made_at <> OLD.made_at BEGIN
    SELECT raise(ABORT, 'a blind test stays as it was made; it can only be closed, once');
END;
CREATE INDEX substance_cas_number ON substance_cas (cas);
CREATE INDEX constituent_substance ON constituent (substance);
CREATE INDEX batch_trial ON batch (trial);
CREATE INDEX batch_event_batch ON batch_event (batch, id);
CREATE TRIGGER shelf_entry_never_changed BEFORE UPDATE ON shelf_entry BEGIN
    SELECT raise(ABORT, 'an entry of the shelf''s history never changes');
END;
CREATE TRIGGER currency_rate_never_changed BEFORE UPDATE ON currency_rate BEGIN
    SELECT raise(ABORT, 'a rate is never changed, only followed by a newer one');
END;
CREATE INDEX movement_trial ON movement (trial, at) WHERE trial IS NOT NULL;
CREATE INDEX movement_batch ON movement (batch, id) WHERE batch IS NOT NULL;
CREATE TRIGGER movement_never_changed BEFORE UPDATE ON movement BEGIN
    SELECT raise(ABORT, 'a movement is never changed, only corrected by another');
END;
CREATE TRIGGER batch_never_deleted BEFORE DELETE ON batch BEGIN
    SELECT raise(ABORT, 'a batch is never deleted, only given up');
END;
CREATE TRIGGER batch_identity BEFORE UPDATE ON batch
WHEN NEW.id <> OLD.id OR NEW.trial <> OLD.trial OR NEW.made_at <> OLD.made_at BEGIN
    SELECT raise(ABORT, 'a batch stays one of its trial');
END;
CREATE TRIGGER batch_event_never_changed BEFORE UPDATE ON batch_event BEGIN
    SELECT raise(ABORT, 'what happened to a batch is never changed');
END;
CREATE TRIGGER batch_event_never_deleted BEFORE DELETE ON batch_event BEGIN
    SELECT raise(ABORT, 'what happened to a batch is never deleted');
END;
CREATE TRIGGER batch_event_taken BEFORE INSERT ON batch_event
WHEN EXISTS (SELECT 1 FROM batch_event WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'what happened to a batch is never replaced');
END;
CREATE TRIGGER substance_identity BEFORE UPDATE ON substance
WHEN NEW.id <> OLD.id OR NEW.folded <> OLD.folded BEGIN
    SELECT raise(ABORT, 'a substance stays the one it is');
END;
CREATE TRIGGER batch_of_kept BEFORE INSERT ON batch
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NULL BEGIN
    SELECT raise(ABORT, 'only kept trials are made in batches');
END;
CREATE TRIGGER movement_of_batch BEFORE INSERT ON movement
WHEN NEW.batch IS NOT NULL
    AND (SELECT trial FROM batch WHERE id = NEW.batch) IS NOT NEW.trial BEGIN
    SELECT raise(ABORT, 'what is poured for a batch is poured for its trial');
END;
CREATE UNIQUE INDEX trial_draft ON trial (formula) WHERE kept_at IS NULL;
CREATE INDEX trial_parent ON trial (parent) WHERE parent IS NOT NULL;
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
CREATE INDEX limit_rule_set ON limit_rule (rule_set, id);
CREATE INDEX series_formula ON series (formula);
CREATE INDEX rating_series ON rating (series);
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
CREATE INDEX batch_plan_batch ON batch_plan (batch, id);
CREATE INDEX batch_pour_batch ON batch_pour (batch, id);
CREATE UNIQUE INDEX batch_pour_corrects ON batch_pour (corrects) WHERE corrects IS NOT NULL;
CREATE TRIGGER batch_plan_never_changed BEFORE UPDATE ON batch_plan BEGIN
    SELECT raise(ABORT, 'a batch''s plan is never changed, only followed by another');
END;
CREATE TRIGGER batch_plan_never_deleted BEFORE DELETE ON batch_plan BEGIN
    SELECT raise(ABORT, 'a batch''s plan is never deleted');
END;
CREATE TRIGGER batch_plan_taken BEFORE INSERT ON batch_plan
WHEN EXISTS (SELECT 1 FROM batch_plan WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'a batch''s plan is never replaced');
END;
CREATE TRIGGER batch_line_never_changed BEFORE UPDATE ON batch_line BEGIN
    SELECT raise(ABORT, 'a line of a batch''s plan is never changed');
END;
CREATE TRIGGER batch_line_never_deleted BEFORE DELETE ON batch_line BEGIN
    SELECT raise(ABORT, 'a line of a batch''s plan is never deleted');
END;
CREATE TRIGGER batch_line_taken BEFORE INSERT ON batch_line
WHEN EXISTS (SELECT 1 FROM batch_line WHERE plan = NEW.plan AND place = NEW.place) BEGIN
    SELECT raise(ABORT, 'a line of a batch''s plan is never replaced');
END;
CREATE TRIGGER batch_pour_never_changed BEFORE UPDATE ON batch_pour BEGIN
    SELECT raise(ABORT, 'what was poured is never changed, only corrected by another row');
END;
CREATE TRIGGER batch_pour_never_deleted BEFORE DELETE ON batch_pour BEGIN
    SELECT raise(ABORT, 'what was poured is never deleted');
END;
CREATE TRIGGER batch_pour_taken BEFORE INSERT ON batch_pour
WHEN EXISTS (SELECT 1 FROM batch_pour WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'what was poured is never replaced');
END;
CREATE TRIGGER batch_pour_moves BEFORE INSERT ON batch_pour
WHEN NEW.movement IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM movement WHERE id = NEW.movement AND bottle = NEW.bottle AND mass = -NEW.mass
        AND batch = NEW.batch) BEGIN
    SELECT raise(ABORT, 'the ledger and the record of a batch agree to the microgram');
END;
CREATE TRIGGER filling_never_changed BEFORE UPDATE ON filling BEGIN
    SELECT raise(ABORT, 'a filling is never changed');
END;
CREATE TRIGGER filling_never_deleted BEFORE DELETE ON filling BEGIN
    SELECT raise(ABORT, 'a filling is never deleted');
END;
CREATE TRIGGER filling_taken BEFORE INSERT ON filling
WHEN EXISTS (SELECT 1 FROM filling WHERE id = NEW.id) BEGIN
    SELECT raise(ABORT, 'a filling is never replaced');
END;
CREATE UNIQUE INDEX ceiling_name ON ceiling (ifnull(formula, 0), kind, folded);
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
CREATE INDEX material_cas ON material (cas) WHERE cas IS NOT NULL;
CREATE INDEX material_merged ON material (merged_into) WHERE merged_into IS NOT NULL;
CREATE INDEX material_fact_low ON material_fact (material, value) WHERE property = 'low';
CREATE INDEX line_accord ON line (accord) WHERE accord IS NOT NULL;
CREATE TRIGGER line_sealed_update BEFORE UPDATE ON line
WHEN NEW.trial <> OLD.trial OR (SELECT kept_at FROM trial WHERE id = OLD.trial) IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a line of a kept trial never changes');
END;
CREATE TRIGGER line_sealed_delete BEFORE DELETE ON line
WHEN (SELECT kept_at FROM trial WHERE id = OLD.trial) IS NOT NULL BEGIN
    SELECT raise(ABORT, 'a line of a kept trial never changes');
END;
CREATE TRIGGER line_accord_kept_update BEFORE UPDATE OF accord ON line
WHEN NEW.accord IS NOT NULL AND (SELECT kept_at FROM trial WHERE id = NEW.accord) IS NULL BEGIN
    SELECT raise(ABORT, 'an accord line names a kept trial');
END;
CREATE TRIGGER line_insert AFTER INSERT ON line
WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NOT NULL
  OR (NEW.accord IS NOT NULL AND (SELECT kept_at FROM trial WHERE id = NEW.accord) IS NULL) BEGIN
    SELECT CASE WHEN (SELECT kept_at FROM trial WHERE id = NEW.trial) IS NOT NULL
                THEN raise(ABORT, 'a line of a kept trial never changes')
                ELSE raise(ABORT, 'an accord line names a kept trial') END;
END;
COMMIT;
PRAGMA application_id = 1885696621;
PRAGMA user_version = 15;
