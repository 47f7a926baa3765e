-- SPDX-License-Identifier: MIT
--
-- Step 12: how much of an odour family, or of a class of volatility, a formula may hold.

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
CREATE UNIQUE INDEX ceiling_name ON ceiling (ifnull(formula, 0), kind, folded);
