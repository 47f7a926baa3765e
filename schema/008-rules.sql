-- SPDX-License-Identifier: MIT
--
-- Step 8: limits and label thresholds beside those that come with the program: the person's own,
-- and other whole sets. The shipped ones are part of the program (schema/reference) and need no
-- rows: every library follows the program that opens it.

-- One figure of a rule. Rows of one set and name are one rule with several scopes.
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
CREATE INDEX limit_rule_set ON limit_rule (rule_set, id);
