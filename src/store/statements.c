/* SPDX-License-Identifier: MIT */
/*
 * The SQL of the store. Values are always bound. The arguments of pm_checksum follow the columns of
 * the table in their order (checksum.h); pm_library_verify and with it every test would notice one
 * that does not.
 */
#include "statements.h"

struct statement {
    const char *text;
    const char *doing; /* "while ..." */
};

#define FORMULA_COLUMNS                                                                            \
    "f.id, f.name, f.accord, f.set_aside, f.made_at, f.changed_at, f.kept, "                       \
    "d.id, d.base, d.total, d.line_count "                                                         \
    "FROM formula AS f JOIN trial AS d ON d.formula = f.id AND d.kept_at IS NULL "

#define TRIAL_COLUMNS                                                                              \
    "t.id, t.formula, t.number, t.parent, t.head, t.made_at, t.kept_at, t.note, m.label, "         \
    "m.set_aside, t.base, t.total, t.line_count "                                                  \
    "FROM trial AS t LEFT JOIN trial_mark AS m "                                                   \
    "ON m.id = (SELECT max(id) FROM trial_mark WHERE trial = t.id) "

#define REVISION_COLUMNS                                                                           \
    "r.id, r.formula, r.number, r.trial, r.parent, r.target, r.at, r.gesture, r.sentence, "        \
    "r.gesture NOT IN ('undo', 'redo', 'keep') AND r.id NOT IN (SELECT id FROM way), "

#define MATERIAL_NAME_COLUMNS "m.id, n.name, m.cas, m.family, m.kind = 'solvent', m.set_aside"

#define LINE_INSERT                                                                                \
    "INSERT INTO line (trial, line, place, material, accord, strength, solvent, parts, stance, "   \
    "core, weight, comment, share_digits, share_power, rested, rested_as) VALUES "
#define LINE_VALUES  "(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
#define FIVE(values) values "," values "," values "," values "," values

#define BOTTLE_COLUMNS                                                                             \
    "b.id, b.material, b.strength, b.solvent, b.lot, b.supplier, b.bought, b.opened, "             \
    "b.best_before, b.place, b.tare, b.price, b.currency, b.priced_mass, b.note, b.made_from, "    \
    "b.set_aside, b.made_at, l.mass, l.movements, ifnull((SELECT sum(m.mass) FROM movement AS m "  \
    "WHERE m.bottle = b.id AND m.kind = 'received' AND m.at = (SELECT f.at FROM movement AS f "    \
    "WHERE f.bottle = b.id ORDER BY f.id LIMIT 1)), 0) "                                           \
    "FROM bottle AS b JOIN bottle_left AS l ON l.bottle = b.id "

#define BATCH_STATE                                                                                \
    "(SELECT kind FROM batch_event WHERE batch = b.id AND kind <> 'note' ORDER BY id DESC LIMIT "  \
    "1)"
/* Who began to pour it says so then, also of a batch that was planned before. */
#define BATCH_MADE_BY                                                                              \
    "coalesce((SELECT text FROM batch_event WHERE batch = b.id AND kind = 'started' AND text IS "  \
    "NOT NULL ORDER BY id LIMIT 1), b.made_by)"
#define BATCH_COLUMNS                                                                              \
    "b.id, b.trial, b.mass, b.day, b.note, " BATCH_MADE_BY ", b.made_at, " BATCH_STATE             \
    " FROM batch AS b "

/* The way from a formula's head back to its start, not beyond revision `least` (ids only grow).
 * UNION, not UNION ALL: a damaged file may hold a circle. */
#define WAY(formula, least)                                                                        \
    "WITH RECURSIVE way (id) AS (SELECT head FROM trial WHERE formula = " formula                  \
    " AND kept_at IS NULL AND head IS NOT NULL "                                                   \
    "UNION SELECT r.parent FROM way JOIN revision AS r ON r.id = way.id "                          \
    "WHERE r.parent >= " least ") "

#define APPLICATION_COLUMNS                                                                        \
    "a.id, a.trial, a.medium, a.strength, a.applied_at, a.schedule, a.note, a.ended_at, "          \
    "a.made_at, t.formula, t.number "                                                              \
    "FROM application AS a JOIN trial AS t ON t.id = a.trial "

#define SMELL_COLUMNS                                                                              \
    "s.id, s.trial, s.application, s.medium, s.strength, s.since, s.intensity, s.liking, s.note, " \
    "s.assessor, s.at, s.entered_at, s.corrects, s.withdrawn, c.id, t.number "

/* Neither corrected nor a row that takes another back. */
#define SMELL_STANDS "c.id IS NULL AND s.withdrawn = 0"

#define SERIES_COLUMNS                                                                             \
    "s.id, s.name, s.kind, s.formula, s.what, s.bounds, s.panel, s.made_at, "                      \
    "(SELECT count(*) FROM series_trial WHERE series = s.id), "                                    \
    "(SELECT count(*) FROM rating AS r WHERE r.series = s.id AND r.value IS NOT NULL AND NOT "     \
    "EXISTS (SELECT 1 FROM rating WHERE corrects = r.id)) FROM series AS s "
#define PANEL_COLUMNS                                                                              \
    "p.id, p.name, p.kind, p.question, p.expected, p.alpha, p.rounds, p.seed, p.made_at, "         \
    "p.closed_at, (SELECT count(*) FROM panel_sample WHERE panel = p.id), "                        \
    "(SELECT count(DISTINCT round) FROM panel_answer WHERE panel = p.id) FROM panel AS p "

static const struct statement statements[PM_SQL_COUNT] = {
    [PM_SQL_DATA_VERSION] = {"PRAGMA data_version", "looking for changes"},
    [PM_SQL_LAST_COMMIT_GET] = {"SELECT last_commit FROM library", "reading again what was saved"},
    [PM_SQL_LAST_COMMIT_PUT] = {"UPDATE library SET last_commit = ?1", "saving the change"},
    [PM_SQL_SETTING_GET] = {"SELECT value FROM setting WHERE key = ?1", "reading a setting"},
    [PM_SQL_SETTING_PUT] = {"INSERT INTO setting (key, value, checksum) "
                            "VALUES (?1, ?2, pm_checksum('setting', ?1, ?2)) "
                            "ON CONFLICT (key) DO UPDATE SET value = excluded.value, "
                            "checksum = excluded.checksum",
                            "saving a setting"},
    [PM_SQL_SETTING_DROP] = {"DELETE FROM setting WHERE key = ?1", "taking a setting back"},
    [PM_SQL_HELD] = {"SELECT EXISTS (SELECT 1 FROM material), EXISTS (SELECT 1 FROM formula), "
                     "EXISTS (SELECT 1 FROM trial WHERE number IS NOT NULL), "
                     "EXISTS (SELECT 1 FROM smell)",
                     "looking what the library holds"},

    [PM_SQL_MATERIAL_NEXT] = {"SELECT max(id) FROM material", "adding the material"},
    [PM_SQL_MATERIAL_INSERT] =
        {"INSERT INTO material (id, kind, cas, family, note, set_aside, merged_into, made_at, "
         "checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, "
         "pm_checksum('material', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8))",
         "adding the material"},
    [PM_SQL_MATERIAL_UPDATE] =
        {"UPDATE material SET kind = ?2, cas = ?3, family = ?4, note = ?5, set_aside = ?6, "
         "merged_into = ?7, checksum = pm_checksum('material', id, ?2, ?3, ?4, ?5, ?6, ?7, "
         "made_at) WHERE id = ?1",
         "changing the material"},
    [PM_SQL_MATERIAL_SET_ASIDE] =
        {"UPDATE material SET set_aside = ?2, checksum = pm_checksum('material', id, kind, cas, "
         "family, note, ?2, merged_into, made_at) WHERE id = ?1",
         "changing the material"},
    [PM_SQL_MATERIAL_DELETE] = {"DELETE FROM material WHERE id = ?1", "removing the material"},
    [PM_SQL_MATERIALS_SET_ASIDE] =
        {"UPDATE material SET set_aside = ?3, checksum = pm_checksum('material', id, kind, cas, "
         "family, note, ?3, merged_into, made_at) WHERE id BETWEEN ?1 AND ?2 AND set_aside <> ?3 "
         "AND checksum = pm_checksum('material', id, kind, cas, family, note, set_aside, "
         "merged_into, made_at)",
         "changing the materials"},
    [PM_SQL_MATERIALS_SHOWN] = {"SELECT min(id), max(iif(set_aside <> ?3, id, 0)) FROM material "
                                "WHERE id BETWEEN ?1 AND ?2 GROUP BY id / 32",
                                "changing the materials"},
    [PM_SQL_MATERIAL_GET] = {"SELECT m.kind, m.cas, m.family, m.note, m.set_aside, m.merged_into, "
                             "m.made_at FROM material AS m WHERE m.id = ?1",
                             "reading a material"},
    [PM_SQL_MATERIAL_NAME] = {"SELECT " MATERIAL_NAME_COLUMNS ", m.merged_into FROM material AS m "
                              "LEFT JOIN material_name AS n ON n.material = m.id AND n.place = 0 "
                              "WHERE m.id = ?1",
                              "reading a material"},
    [PM_SQL_MATERIAL_OF_TRIAL] =
        {"SELECT " MATERIAL_NAME_COLUMNS " "
         "FROM material AS m JOIN material_name AS n ON n.material = m.id AND n.place = 0 "
         "WHERE m.merged_into IS NULL AND m.id IN (SELECT material FROM line WHERE trial = ?1 "
         "UNION SELECT solvent FROM line WHERE trial = ?1)",
         "reading the materials of a trial"},
    [PM_SQL_MATERIAL_USERS] = {"SELECT f.name FROM material_use AS u "
                               "JOIN formula AS f ON f.id = u.formula WHERE u.material = ?1 "
                               "ORDER BY f.folded",
                               "looking where a material is used"},
    [PM_SQL_MATERIAL_USE] =
        {"INSERT OR IGNORE INTO material_use (material, formula) VALUES (?1, ?2)",
         "saving the change"},
    [PM_SQL_MATERIAL_USES] =
        {"INSERT OR IGNORE INTO material_use (material, formula) "
         "SELECT material, ?2 FROM line WHERE trial = ?1 AND material IS NOT NULL UNION ALL "
         "SELECT solvent, ?2 FROM line WHERE trial = ?1 AND solvent IS NOT NULL",
         "saving the change"},
    [PM_SQL_MATERIAL_DILUTES] =
        {"SELECT m.kind = 'solvent' AND (EXISTS (SELECT 1 FROM bottle WHERE solvent = ?1) "
         "OR EXISTS (SELECT 1 FROM line WHERE solvent = ?1)) FROM material AS m WHERE m.id = ?1",
         "looking where a material is used"},
    [PM_SQL_MATERIAL_MERGED_HERE] =
        {"SELECT n.name FROM material AS m JOIN material_name AS n ON n.material = m.id AND "
         "n.place = 0 WHERE m.merged_into = ?1 ORDER BY n.folded",
         "looking where a material is used"},
    [PM_SQL_NAME_INSERT] = {"INSERT INTO material_name (material, place, name, folded, checksum) "
                            "VALUES (?1, ?2, ?3, ?4, pm_checksum('material_name', ?1, ?2, ?3, ?4))",
                            "saving the names of a material"},
    [PM_SQL_NAMES_DELETE] = {"DELETE FROM material_name WHERE material = ?1",
                             "saving the names of a material"},
    [PM_SQL_NAMES_GET] = {"SELECT name FROM material_name WHERE material = ?1 ORDER BY place",
                          "reading the names of a material"},
    [PM_SQL_NAME_FIND] = {"SELECT n.material, n.place, f.name FROM material_name AS n "
                          "JOIN material_name AS f ON f.material = n.material AND f.place = 0 "
                          "WHERE n.folded = ?1",
                          "looking for a material"},
    [PM_SQL_MATERIAL_MERGED] = {"SELECT merged_into FROM material WHERE id = ?1",
                                "looking for a material"},
    [PM_SQL_NAME_OWNER] = {"SELECT n.material, m.id IS NULL OR m.merged_into IS NOT NULL FROM "
                           "material_name AS n LEFT JOIN material AS m ON m.id = n.material "
                           "WHERE n.folded = ?1",
                           "looking for a material"},
    [PM_SQL_CAS_FIND] = {"SELECT m.id, n.name FROM material AS m JOIN material_name AS n "
                         "ON n.material = m.id AND n.place = 0 "
                         "WHERE m.cas = ?1 AND m.merged_into IS NULL ORDER BY n.folded",
                         "looking for a material"},
    /* Walks the index on folded names alone until enough rows have passed. */
    [PM_SQL_SEARCH_PREFIX] = {"SELECT m.id, n.name, m.cas, m.family, m.kind "
                              "FROM material_name AS n CROSS JOIN material AS m "
                              "ON m.id = n.material "
                              "WHERE n.folded >= ?1 AND n.folded < ?1 || char(1114111) "
                              "AND n.place = 0 AND m.merged_into IS NULL AND m.set_aside <= ?2 "
                              "ORDER BY n.folded LIMIT ?3",
                              "searching the materials"},
    [PM_SQL_SEARCH_BLOCKS] = {"SELECT block, entries FROM material_search",
                              "searching the materials"},
    [PM_SQL_SEARCH_FACTS] = {"SELECT m.id, m.set_aside, m.cas, n.folded FROM material AS m "
                             "JOIN material_name AS n ON n.material = m.id "
                             "WHERE m.id >= ?1 AND m.id < ?2 AND m.merged_into IS NULL "
                             "ORDER BY m.id, n.place",
                             "preparing the search of materials"},
    [PM_SQL_SEARCH_NUMBERS] = {"SELECT DISTINCT id / 32 FROM material "
                               "UNION SELECT block FROM material_search",
                               "checking the search of materials"},
    [PM_SQL_SEARCH_GET] = {"SELECT entries FROM material_search WHERE block = ?1",
                           "checking the search of materials"},
    [PM_SQL_SEARCH_PUT] = {"INSERT INTO material_search (block, entries) VALUES (?1, ?2) "
                           "ON CONFLICT (block) DO UPDATE SET entries = excluded.entries",
                           "preparing the search of materials"},
    [PM_SQL_SEARCH_DROP] = {"DELETE FROM material_search WHERE block = ?1",
                            "preparing the search of materials"},
    /* Pairs of a material and the place of the synonym that matched. */
    [PM_SQL_SEARCH_HITS] =
        {"SELECT w.key, n.name, m.cas, m.family, m.kind, s.name FROM json_each(?1) AS w "
         "CROSS JOIN material AS m ON m.id = w.value ->> 0 "
         "CROSS JOIN material_name AS n ON n.material = m.id AND n.place = 0 "
         "LEFT JOIN material_name AS s ON s.material = m.id AND s.place = w.value ->> 1",
         "searching the materials"},
    [PM_SQL_SEARCH_AMONG] = {"SELECT m.id, n.name, m.cas, m.family, m.kind "
                             "FROM json_each(?1) AS w CROSS JOIN material AS m ON m.id = w.value "
                             "CROSS JOIN material_name AS n ON n.material = m.id AND n.place = 0 "
                             "WHERE m.merged_into IS NULL AND m.set_aside <= ?2 "
                             "ORDER BY n.folded LIMIT ?3",
                             "searching the materials"},

    [PM_SQL_FORMULA_NEXT] = {"SELECT max(id) FROM formula", "making the formula"},
    [PM_SQL_FORMULA_INSERT] =
        {"INSERT INTO formula (id, name, folded, accord, set_aside, made_at, changed_at, kept, "
         "revisions, chain, checksum) VALUES (?1, ?2, ?3, ?4, 0, ?5, ?5, 0, 0, 0, "
         "pm_checksum('formula', ?1, ?2, ?3, ?4, 0, ?5, ?5, 0, 0, 0))",
         "making the formula"},
    [PM_SQL_FORMULA_UPDATE] =
        {"UPDATE formula SET name = ?2, folded = ?3, accord = ?4, set_aside = ?5, "
         "checksum = pm_checksum('formula', id, ?2, ?3, ?4, ?5, made_at, changed_at, kept, "
         "revisions, chain) WHERE id = ?1",
         "changing the formula"},
    [PM_SQL_FORMULA_TOUCH] =
        {"UPDATE formula SET changed_at = ?2, kept = ?3, revisions = ?4, chain = ?5, "
         "checksum = pm_checksum('formula', id, name, folded, accord, set_aside, made_at, ?2, ?3, "
         "?4, ?5) WHERE id = ?1",
         "saving the change"},
    [PM_SQL_FORMULA_GET] = {"SELECT " FORMULA_COLUMNS "WHERE f.id = ?1", "reading a formula"},
    [PM_SQL_FORMULA_FIND] = {"SELECT id FROM formula WHERE folded = ?1", "looking for a formula"},
    [PM_SQL_FORMULA_LIST] = {"SELECT " FORMULA_COLUMNS "WHERE f.set_aside <= ?1 "
                             "ORDER BY f.changed_at DESC, f.id DESC",
                             "listing the formulas"},
    [PM_SQL_FORMULA_HISTORY] = {"SELECT kept, revisions, chain FROM formula WHERE id = ?1",
                                "reading a formula"},

    [PM_SQL_TRIAL_NEXT] = {"SELECT max(id) FROM trial", "making the draft"},
    [PM_SQL_TRIAL_INSERT] =
        {"INSERT INTO trial (id, formula, number, parent, head, mode, base, settled, next_line, "
         "line_count, total, content, made_at, kept_at, note, scale_digits, scale_power, checksum) "
         "VALUES (?1, ?2, NULL, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, NULL, NULL, ?13, ?14, "
         "pm_checksum('trial', ?1, ?2, NULL, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, NULL, "
         "NULL, ?13, ?14))",
         "making the draft"},
    [PM_SQL_TRIAL_WRITE] =
        {"UPDATE trial SET parent = ?2, head = ?3, mode = ?4, base = ?5, settled = ?6, "
         "next_line = ?7, line_count = ?8, total = ?9, content = ?10, scale_digits = ?11, "
         "scale_power = ?12, "
         "checksum = pm_checksum('trial', id, formula, NULL, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, "
         "made_at, NULL, NULL, ?11, ?12) WHERE id = ?1",
         "saving the change"},
    [PM_SQL_TRIAL_SEAL] =
        {"UPDATE trial SET number = ?2, kept_at = ?3, note = ?4, "
         "checksum = pm_checksum('trial', id, formula, ?2, parent, head, mode, base, settled, "
         "next_line, line_count, total, content, made_at, ?3, ?4, scale_digits, scale_power) "
         "WHERE id = ?1",
         "keeping the trial"},
    [PM_SQL_TRIAL_ROW] = {"SELECT " TRIAL_COLUMNS "WHERE t.id = ?1", "reading a trial"},
    [PM_SQL_TRIAL_CONTENT] =
        {"SELECT formula, number, parent, head, mode, base, settled, next_line, line_count, total, "
         "content, checksum = pm_checksum('trial', id, formula, number, parent, head, mode, base, "
         "settled, next_line, line_count, total, content, made_at, kept_at, note, scale_digits, "
         "scale_power), scale_digits, scale_power FROM trial WHERE id = ?1",
         "reading a trial"},
    [PM_SQL_TRIAL_BY_NUMBER] = {"SELECT id FROM trial WHERE formula = ?1 AND number = ?2",
                                "looking for a trial"},
    [PM_SQL_TRIAL_DRAFT] = {"SELECT id FROM trial WHERE formula = ?1 AND kept_at IS NULL",
                            "looking for a draft"},
    [PM_SQL_TRIAL_LIST] = {"SELECT " TRIAL_COLUMNS "WHERE t.formula = ?1 AND t.number > 0 "
                           "ORDER BY t.number",
                           "listing the trials"},
    [PM_SQL_TRIAL_ALL] = {"SELECT id FROM trial NOT INDEXED ORDER BY id", "listing the trials"},
    [PM_SQL_LINES_GET] = {"SELECT line, material, accord, strength, solvent, parts, stance, core, "
                          "weight, comment, place, share_digits, share_power, rested, "
                          "rested_as FROM line WHERE trial = ?1 ORDER BY place, line",
                          "reading the lines of a trial"},
    [PM_SQL_LINES_COPY] =
        {"INSERT INTO line (trial, line, place, material, accord, strength, solvent, parts, "
         "stance, core, weight, comment, share_digits, share_power, rested, rested_as) SELECT ?2, "
         "line, "
         "place, "
         "material, accord, strength, solvent, parts, stance, core, weight, comment, share_digits, "
         "share_power, rested, rested_as FROM line WHERE trial = ?1",
         "keeping the trial"},
    [PM_SQL_LINE_INSERT] = {LINE_INSERT LINE_VALUES, "saving the change"},
    [PM_SQL_LINES_INSERT] = {LINE_INSERT FIVE(LINE_VALUES) "," FIVE(LINE_VALUES) "," FIVE(
                                 LINE_VALUES) "," FIVE(LINE_VALUES),
                             "saving the change"},
    [PM_SQL_LINE_UPDATE] = {"UPDATE line SET place = ?3, material = ?4, accord = ?5, "
                            "strength = ?6, solvent = ?7, parts = ?8, stance = ?9, core = ?10, "
                            "weight = ?11, comment = ?12, share_digits = ?13, share_power = ?14, "
                            "rested = ?15, rested_as = ?16 WHERE trial = ?1 AND line = ?2",
                            "saving the change"},
    [PM_SQL_LINE_DELETE] = {"DELETE FROM line WHERE trial = ?1 AND line = ?2", "saving the change"},
    [PM_SQL_MARK_NEXT] = {"SELECT max(id) FROM trial_mark", "labelling the trial"},
    [PM_SQL_MARK_INSERT] = {"INSERT INTO trial_mark (id, trial, label, set_aside, at, checksum) "
                            "VALUES (?1, ?2, ?3, ?4, ?5, "
                            "pm_checksum('trial_mark', ?1, ?2, ?3, ?4, ?5))",
                            "labelling the trial"},

    [PM_SQL_REVISION_NEXT] = {"SELECT max(id) FROM revision", "saving the change"},
    [PM_SQL_REVISION_INSERT] =
        {"INSERT INTO revision (id, formula, number, trial, parent, target, at, gesture, sentence, "
         "change, previous, checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, "
         "pm_checksum('revision', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)) "
         "RETURNING checksum",
         "saving the change"},
    [PM_SQL_REVISION_GET] = {WAY("(SELECT formula FROM revision WHERE id = ?1)",
                                 "?1") "SELECT " REVISION_COLUMNS "r.change FROM revision AS r "
                                       "WHERE r.id = ?1",
                             "reading a revision"},
    [PM_SQL_REVISION_CHILD] = {"SELECT id FROM revision WHERE formula = ?1 AND parent IS ?2 "
                               "AND gesture NOT IN ('undo', 'redo', 'keep') "
                               "ORDER BY id DESC LIMIT 1",
                               "looking for what to redo"},
    [PM_SQL_REVISION_LIST] = {WAY("?1",
                                  "0") "SELECT " REVISION_COLUMNS "NULL FROM revision AS r "
                                       "WHERE r.formula = ?1 AND (?2 IS NULL OR r.trial = ?2) "
                                       "ORDER BY r.number",
                              "listing the history"},
    /* Only for salvage, where triggers are off. */
    [PM_SQL_REVISION_CHAIN] =
        {"UPDATE revision AS r SET previous = p.chain, checksum = pm_checksum('revision', r.id, "
         "r.formula, r.number, r.trial, r.parent, r.target, r.at, r.gesture, r.sentence, "
         "r.change, p.chain) FROM (SELECT ifnull((SELECT b.checksum FROM revision AS a "
         "JOIN revision AS b ON b.formula = a.formula AND b.number = a.number - 1 "
         "WHERE a.id = ?1), 0) AS chain) AS p WHERE r.id = ?1",
         "mending what was read"},

    [PM_SQL_APPLICATION_NEXT] = {"SELECT max(id) FROM application", "saving what was applied"},
    [PM_SQL_APPLICATION_INSERT] =
        {"INSERT INTO application (id, trial, medium, strength, applied_at, schedule, note, "
         "ended_at, made_at, checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, "
         "pm_checksum('application', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9))",
         "saving what was applied"},
    [PM_SQL_APPLICATION_END] =
        {"UPDATE application SET ended_at = ?2, checksum = pm_checksum('application', id, trial, "
         "medium, strength, applied_at, schedule, note, ?2, made_at) WHERE id = ?1",
         "ending what was applied"},
    [PM_SQL_APPLICATION_GET] = {"SELECT " APPLICATION_COLUMNS "WHERE a.id = ?1",
                                "reading what was applied"},
    [PM_SQL_APPLICATION_LIST] = {"SELECT " APPLICATION_COLUMNS "ORDER BY a.applied_at, a.id",
                                 "reading what was applied"},
    [PM_SQL_APPLICATION_RUNNING] = {"SELECT " APPLICATION_COLUMNS "WHERE a.ended_at IS NULL "
                                    "ORDER BY a.applied_at, a.id",
                                    "reading what was applied"},
    [PM_SQL_SMELL_NEXT] = {"SELECT max(id) FROM smell", "saving the smell note"},
    [PM_SQL_SMELL_INSERT] =
        {"INSERT INTO smell (id, trial, application, medium, strength, since, intensity, liking, "
         "note, assessor, at, entered_at, corrects, withdrawn, checksum) "
         "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, "
         "pm_checksum('smell', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14))",
         "saving the smell note"},
    [PM_SQL_SMELL_CORRECTION] = {"SELECT ifnull(c.id, 0) FROM smell AS s "
                                 "LEFT JOIN smell AS c ON c.corrects = s.id WHERE s.id = ?1",
                                 "looking for the smell note"},
    [PM_SQL_SMELL_GET] = {"SELECT " SMELL_COLUMNS "FROM smell AS s JOIN trial AS t "
                          "ON t.id = s.trial LEFT JOIN smell AS c ON c.corrects = s.id "
                          "WHERE s.id = ?1",
                          "reading a smell note"},
    /* CROSS JOIN: from the formula's trials to their notes, never through all notes. */
    [PM_SQL_SMELL_LIST] = {"SELECT " SMELL_COLUMNS "FROM trial AS t CROSS JOIN smell AS s "
                           "ON s.trial = t.id LEFT JOIN smell AS c ON c.corrects = s.id "
                           "WHERE t.formula = ?1 AND t.number IS NOT NULL "
                           "AND (?2 = 0 OR t.number = ?2) AND (?3 OR (" SMELL_STANDS ")) "
                           "ORDER BY t.number, s.since, s.id",
                           "reading the smell log"},
    [PM_SQL_SMELL_APPLICATION] = {"SELECT " SMELL_COLUMNS "FROM smell AS s JOIN trial AS t "
                                  "ON t.id = s.trial LEFT JOIN smell AS c ON c.corrects = s.id "
                                  "WHERE s.application = ?1 AND " SMELL_STANDS " ORDER BY s.id",
                                  "reading the smell log"},
    [PM_SQL_SMELL_COUNTS] = {"SELECT s.trial, count(*) FROM trial AS t CROSS JOIN smell AS s "
                             "ON s.trial = t.id LEFT JOIN smell AS c ON c.corrects = s.id "
                             "WHERE t.formula = ?1 AND " SMELL_STANDS " GROUP BY s.trial",
                             "counting smell notes"},
    [PM_SQL_SMELL_NOTES] = {"SELECT s.note FROM smell AS s LEFT JOIN smell AS c "
                            "ON c.corrects = s.id WHERE " SMELL_STANDS
                            " AND s.note IS NOT NULL ORDER BY s.id DESC",
                            "looking for words used before"},

    [PM_SQL_PANEL_NEXT] = {"SELECT max(id) FROM panel", "saving the blind test"},
    [PM_SQL_PANEL_INSERT] =
        {"INSERT INTO panel (id, name, folded, kind, question, expected, alpha, rounds, seed, "
         "made_at, closed_at, checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, NULL, "
         "pm_checksum('panel', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, NULL))",
         "saving the blind test"},
    [PM_SQL_PANEL_CLOSE] =
        {"UPDATE panel SET closed_at = ?2, checksum = pm_checksum('panel', id, name, folded, kind, "
         "question, expected, alpha, rounds, seed, made_at, ?2) WHERE id = ?1 "
         "AND closed_at IS NULL",
         "closing the blind test"},
    [PM_SQL_PANEL_GET] = {"SELECT " PANEL_COLUMNS "WHERE p.id = ?1", "reading a blind test"},
    [PM_SQL_PANEL_FIND] = {"SELECT id FROM panel WHERE folded = ?1", "looking for a blind test"},
    [PM_SQL_PANEL_LIST] = {"SELECT " PANEL_COLUMNS "ORDER BY p.id DESC", "listing the blind tests"},
    [PM_SQL_SAMPLE_INSERT] = {"INSERT INTO panel_sample (panel, sample, trial, checksum) "
                              "VALUES (?1, ?2, ?3, pm_checksum('panel_sample', ?1, ?2, ?3))",
                              "saving the blind test"},
    [PM_SQL_SAMPLE_LIST] = {"SELECT sample, trial FROM panel_sample WHERE panel = ?1 "
                            "ORDER BY sample",
                            "reading a blind test"},
    [PM_SQL_SERVING_INSERT] =
        {"INSERT INTO panel_serving (panel, round, place, sample, code, checksum) "
         "VALUES (?1, ?2, ?3, ?4, ?5, pm_checksum('panel_serving', ?1, ?2, ?3, ?4, ?5))",
         "saving the blind test"},
    [PM_SQL_SERVING_LIST] = {"SELECT round, place, sample, code FROM panel_serving "
                             "WHERE panel = ?1 ORDER BY round, place",
                             "reading a blind test"},
    [PM_SQL_ANSWER_NEXT] = {"SELECT max(id) FROM panel_answer", "saving the answer"},
    [PM_SQL_ANSWER_INSERT] =
        {"INSERT INTO panel_answer (id, panel, round, answer, assessor, at, corrects, checksum) "
         "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, "
         "pm_checksum('panel_answer', ?1, ?2, ?3, ?4, ?5, ?6, ?7))",
         "saving the answer"},
    [PM_SQL_ANSWER_LATEST] = {"SELECT max(id) FROM panel_answer WHERE panel = ?1 AND round = ?2",
                              "looking for the answer"},
    [PM_SQL_ANSWER_LIST] = {"SELECT a.id, a.round, a.answer, a.assessor, a.at, a.corrects, "
                            "c.id IS NOT NULL FROM panel_answer AS a LEFT JOIN panel_answer AS c "
                            "ON c.corrects = a.id WHERE a.panel = ?1 ORDER BY a.id",
                            "reading the answers"},
    [PM_SQL_SERIES_NEXT] = {"SELECT max(id) FROM series", "saving the series"},
    [PM_SQL_SERIES_INSERT] =
        {"INSERT INTO series (id, name, folded, kind, formula, what, bounds, panel, made_at, "
         "checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, "
         "pm_checksum('series', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9))",
         "saving the series"},
    [PM_SQL_SERIES_GET] = {"SELECT " SERIES_COLUMNS "WHERE s.id = ?1", "reading a series"},
    [PM_SQL_SERIES_FIND] = {"SELECT id FROM series WHERE folded = ?1", "looking for a series"},
    [PM_SQL_SERIES_LIST] = {"SELECT " SERIES_COLUMNS "WHERE ?1 = 0 OR s.formula = ?1 "
                            "ORDER BY s.id DESC",
                            "listing the series"},
    [PM_SQL_SERIES_TRIAL_INSERT] =
        {"INSERT INTO series_trial (series, place, trial, amount, ratio, omitted, panel, checksum) "
         "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, "
         "pm_checksum('series_trial', ?1, ?2, ?3, ?4, ?5, ?6, ?7))",
         "saving the series"},
    [PM_SQL_SERIES_TRIAL_LIST] = {"SELECT s.trial, s.amount, s.ratio, s.omitted, s.panel, t.number "
                                  "FROM series_trial AS s JOIN trial AS t ON t.id = s.trial "
                                  "WHERE s.series = ?1 ORDER BY s.place",
                                  "reading a series"},
    [PM_SQL_RATING_NEXT] = {"SELECT max(id) FROM rating", "saving the rating"},
    [PM_SQL_RATING_INSERT] =
        {"INSERT INTO rating (id, series, trial, value, at, corrects, checksum) "
         "VALUES (?1, ?2, ?3, ?4, ?5, ?6, pm_checksum('rating', ?1, ?2, ?3, ?4, ?5, ?6))",
         "saving the rating"},
    [PM_SQL_RATING_LIST] = {"SELECT r.id, r.trial, r.value, r.at, r.corrects FROM rating AS r "
                            "WHERE r.series = ?1 AND r.value IS NOT NULL AND NOT EXISTS "
                            "(SELECT 1 FROM rating WHERE corrects = r.id) ORDER BY r.id",
                            "reading the ratings"},
    [PM_SQL_CALIBRATION_NEXT] = {"SELECT max(id) FROM calibration", "setting the clock"},
    [PM_SQL_CALIBRATION_INSERT] =
        {"INSERT INTO calibration (id, smell, material, remaining, at, checksum) "
         "VALUES (?1, ?2, ?3, ?4, ?5, pm_checksum('calibration', ?1, ?2, ?3, ?4, ?5))",
         "setting the clock"},
    [PM_SQL_CALIBRATION_NEWEST] =
        {"SELECT k.id, k.smell, k.material, k.remaining, k.at, s.trial FROM calibration AS k "
         "JOIN smell AS s ON s.id = k.smell JOIN trial AS t ON t.id = s.trial "
         "LEFT JOIN smell AS c ON c.corrects = s.id WHERE t.formula = ?1 AND " SMELL_STANDS
         " ORDER BY k.id DESC LIMIT 1",
         "reading the clock"},
    [PM_SQL_FACT_PUT] =
        {"INSERT INTO material_fact (material, property, origin, value, words, source, confidence, "
         "checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, "
         "pm_checksum('material_fact', ?1, ?2, ?3, ?4, ?5, ?6, ?7)) "
         "ON CONFLICT (material, property, origin) DO UPDATE SET value = excluded.value, "
         "words = excluded.words, source = excluded.source, confidence = excluded.confidence, "
         "checksum = excluded.checksum",
         "saving what is known of a material"},
    [PM_SQL_FACT_REMOVE] = {"DELETE FROM material_fact WHERE material = ?1 AND property = ?2 "
                            "AND origin = ?3",
                            "saving what is known of a material"},
    [PM_SQL_FACT_LIST] = {"SELECT property, origin, value, words, source, confidence, "
                          "value IS NOT NULL FROM material_fact WHERE material = ?1 "
                          "ORDER BY property, origin",
                          "reading what is known of a material"},
    /* 'own' sorts before 'starter'. */
    [PM_SQL_FACT_VALUE] = {"SELECT value FROM material_fact WHERE material = ?1 AND property = ?2 "
                           "AND value IS NOT NULL ORDER BY origin LIMIT 1",
                           "reading what is known of a material"},
    [PM_SQL_CONSTITUENTS_CLEAR] = {"DELETE FROM constituent WHERE material = ?1 "
                                   "AND origin = ?2",
                                   "saving the constituents of a natural"},
    [PM_SQL_CONSTITUENT_INSERT] =
        {"INSERT INTO constituent (material, origin, place, substance, least, typical, most, "
         "source, confidence, checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, "
         "pm_checksum('constituent', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9))",
         "saving the constituents of a natural"},
    [PM_SQL_CONSTITUENTS_LIST] =
        {"SELECT c.origin, s.name, (SELECT min(cas) FROM substance_cas WHERE substance = s.id), "
         "ifnull(c.least, -1), ifnull(c.typical, -1), ifnull(c.most, -1), c.source, c.confidence, "
         "s.id FROM constituent AS c JOIN substance AS s ON s.id = c.substance "
         "WHERE c.material = ?1 ORDER BY c.origin, c.place",
         "reading the constituents of a natural"},
    [PM_SQL_SUBSTANCE_NEXT] = {"SELECT max(id) FROM substance", "saving a substance"},
    [PM_SQL_SUBSTANCE_INSERT] = {"INSERT INTO substance (id, name, folded, checksum) VALUES (?1, "
                                 "?2, ?3, pm_checksum('substance', ?1, ?2, ?3))",
                                 "saving a substance"},
    [PM_SQL_SUBSTANCE_BY_NAME] = {"SELECT id FROM substance WHERE folded = ?1",
                                  "looking for a substance"},
    [PM_SQL_SUBSTANCE_BY_CAS] = {"SELECT substance FROM substance_cas WHERE cas = ?1 "
                                 "GROUP BY cas HAVING count(*) = 1",
                                 "looking for a substance"},
    [PM_SQL_SUBSTANCE_CAS] = {"INSERT OR IGNORE INTO substance_cas (substance, cas, checksum) "
                              "VALUES (?1, ?2, pm_checksum('substance_cas', ?1, ?2))",
                              "saving a substance"},
    [PM_SQL_STARTER_CLEAR_FACTS] = {"DELETE FROM material_fact WHERE material = ?1 "
                                    "AND origin = 'starter'",
                                    "bringing the starter set up to date"},
    [PM_SQL_STARTER_CLEAR_CONSTITUENTS] = {"DELETE FROM constituent WHERE material = ?1 "
                                           "AND origin = 'starter'",
                                           "bringing the starter set up to date"},
    [PM_SQL_STARTER_FIND] = {"SELECT material FROM material_starter WHERE name = ?1",
                             "looking for a material of the starter set"},
    [PM_SQL_STARTER_LINK] =
        {"INSERT INTO material_starter (material, name, checksum) VALUES (?2, ?1, "
         "pm_checksum('material_starter', ?2, ?1)) ON CONFLICT (material) DO UPDATE SET "
         "name = excluded.name, checksum = excluded.checksum",
         "bringing the starter set up to date"},
    [PM_SQL_STARTER_ANY] = {"SELECT material FROM material_starter LIMIT 1",
                            "looking for materials of the starter set"},

    [PM_SQL_BOTTLE_NEXT] = {"SELECT max(id) FROM bottle", "adding the bottle"},
    [PM_SQL_BOTTLE_INSERT] =
        {"INSERT INTO bottle (id, material, strength, solvent, lot, supplier, bought, opened, "
         "best_before, place, tare, price, currency, priced_mass, note, made_from, set_aside, "
         "made_at, checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, "
         "?15, ?16, ?17, ?18, pm_checksum('bottle', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, "
         "?12, ?13, ?14, ?15, ?16, ?17, ?18))",
         "adding the bottle"},
    [PM_SQL_BOTTLE_UPDATE] =
        {"UPDATE bottle SET material = ?2, strength = ?3, solvent = ?4, lot = ?5, supplier = ?6, "
         "bought = ?7, opened = ?8, best_before = ?9, place = ?10, tare = ?11, price = ?12, "
         "currency = ?13, priced_mass = ?14, note = ?15, made_from = ?16, set_aside = ?17, "
         "checksum = pm_checksum('bottle', id, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, "
         "?13, ?14, ?15, ?16, ?17, made_at) WHERE id = ?1",
         "changing the bottle"},
    [PM_SQL_BOTTLE_GET] = {"SELECT " BOTTLE_COLUMNS "WHERE b.id = ?1", "reading a bottle"},
    [PM_SQL_BOTTLE_ALL] = {"SELECT " BOTTLE_COLUMNS "WHERE b.set_aside <= ?1 ORDER BY b.id",
                           "listing the bottles"},
    [PM_SQL_BOTTLE_OF_MATERIAL] = {"SELECT " BOTTLE_COLUMNS "WHERE b.material = ?2 "
                                   "AND b.set_aside <= ?1 ORDER BY b.id",
                                   "listing the bottles"},
    [PM_SQL_BOTTLE_USERS] = {"SELECT id FROM bottle WHERE material = ?1 UNION "
                             "SELECT id FROM bottle WHERE solvent = ?1 ORDER BY 1",
                             "looking where a material is used"},
    [PM_SQL_MOVEMENT_NEXT] = {"SELECT max(id) FROM movement", "writing into the ledger"},
    [PM_SQL_MOVEMENT_INSERT] =
        {"INSERT INTO movement (id, bottle, kind, mass, found, other, purpose, note, corrects, at, "
         "trial, batch, checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, "
         "pm_checksum('movement', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12))",
         "writing into the ledger"},
    [PM_SQL_MOVEMENT_LIST] =
        {"SELECT id, kind, mass, found, other, purpose, note, corrects, at, trial, batch "
         "FROM movement WHERE bottle = ?1 ORDER BY id",
         "reading the ledger"},
    [PM_SQL_MOVEMENT_LEVEL] = {"SELECT ifnull(sum(mass), 0) FROM movement WHERE bottle = ?1 "
                               "AND id <= ?2",
                               "reading the ledger"},
    [PM_SQL_WEIGHED_COUNTS] =
        {"SELECT t.id, count(DISTINCT date(m.at, 'unixepoch', 'localtime')) FROM trial AS t "
         "JOIN movement AS m ON m.trial = t.id WHERE t.formula = ?1 AND m.kind = 'poured' "
         "AND m.mass + (SELECT ifnull(sum(c.mass), 0) FROM movement AS c WHERE c.corrects = m.id) "
         "<> 0 GROUP BY t.id",
         "counting weighings"},
    [PM_SQL_MOVEMENT_GET] = {"SELECT bottle, mass FROM movement WHERE id = ?1",
                             "reading the ledger"},

    /* Neat mass is mass x strength / 1e9, which would not fit if it were multiplied first:
     * thousands of grams and the rest apart, and what is cut off is below a microgram per bottle.
     */
    [PM_SQL_HOLDINGS] =
        {"SELECT w.value, count(l.mass), ifnull(sum(l.mass), 0), "
         "ifnull(sum(l.mass / 1000000000 * b.strength "
         "+ (l.mass % 1000000000 * b.strength + 500000000) / 1000000000), 0), "
         "ifnull(sum(l.mass > 0 AND b.best_before < ?2), 0), "
         "ifnull((SELECT value / 1000 FROM material_fact WHERE material = w.value AND property = "
         "'low' AND value IS NOT NULL ORDER BY origin LIMIT 1), -1), "
         "ifnull((SELECT value / 1000000000 FROM material_fact WHERE material = w.value AND "
         "property = "
         "'rating' AND value IS NOT NULL ORDER BY origin LIMIT 1), 0) "
         "FROM json_each(?1) AS w LEFT JOIN bottle AS b ON b.material = w.value AND b.set_aside = "
         "0 "
         "LEFT JOIN bottle_left AS l ON l.bottle = b.id AND l.mass > 0 "
         "GROUP BY w.key ORDER BY w.key",
         "reading what is on the shelf"},
    [PM_SQL_HOLDING_HAVE] = {"SELECT DISTINCT b.material FROM bottle AS b NOT INDEXED "
                             "JOIN bottle_left AS l ON l.bottle = b.id "
                             "WHERE b.set_aside = 0 AND l.mass > 0",
                             "reading what is on the shelf"},
    [PM_SQL_HOLDING_LOW] =
        {"SELECT f.material FROM material_fact AS f WHERE f.property = 'low' AND f.origin = 'own' "
         /* As pm_stock_low says. */
         "AND f.value IS NOT NULL AND f.value / 1000 - f.value / 1000000000 - 2 > (SELECT "
         "ifnull(sum(l.mass / 1000000000 * b.strength "
         "+ (l.mass % 1000000000 * b.strength + 500000000) / 1000000000), 0) FROM bottle AS b "
         "JOIN bottle_left AS l ON l.bottle = b.id "
         "WHERE b.material = f.material AND b.set_aside = 0 AND l.mass > 0)",
         "looking for what is low"},
    [PM_SQL_HOLDING_OLD] = {"SELECT DISTINCT b.material FROM bottle AS b "
                            "JOIN bottle_left AS l ON l.bottle = b.id "
                            "WHERE b.best_before < ?1 AND b.set_aside = 0 AND l.mass > 0",
                            "looking for what is old"},
    [PM_SQL_FAMILY_LIST] = {"SELECT id FROM material WHERE family = ?1 AND merged_into IS NULL",
                            "searching the materials"},
    [PM_SQL_FAMILY_NAMES] = {"SELECT family, count(*) FROM material WHERE family IS NOT NULL "
                             "AND merged_into IS NULL AND set_aside = 0 GROUP BY family "
                             "ORDER BY family",
                             "listing the families"},
    [PM_SQL_BATCH_NEXT] = {"SELECT max(id) FROM batch", "saving a batch"},
    [PM_SQL_BATCH_INSERT] = {"INSERT INTO batch (id, trial, mass, day, note, made_by, made_at, "
                             "checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, "
                             "pm_checksum('batch', ?1, ?2, ?3, ?4, ?5, ?6, ?7))",
                             "saving a batch"},
    [PM_SQL_BATCH_GET] = {"SELECT " BATCH_COLUMNS "WHERE b.id = ?1", "reading a batch"},
    [PM_SQL_BATCH_LIST] = {"SELECT " BATCH_COLUMNS "WHERE ?1 OR " BATCH_STATE
                           " NOT IN ('finished', 'given up') ORDER BY b.day IS NULL, b.day, b.id",
                           "listing the batches"},
    [PM_SQL_BATCH_EVENT_NEXT] = {"SELECT max(id) FROM batch_event", "saving a batch"},
    [PM_SQL_BATCH_EVENT_INSERT] =
        {"INSERT INTO batch_event (id, batch, kind, at, text, checksum) VALUES (?1, ?2, ?3, ?4, "
         "?5, pm_checksum('batch_event', ?1, ?2, ?3, ?4, ?5))",
         "saving a batch"},
    [PM_SQL_BATCH_EVENT_GET] = {"SELECT e.batch, e.kind, e.at, e.text, (SELECT kind FROM "
                                "batch_event WHERE batch = e.batch AND kind <> 'note' "
                                "AND id < e.id ORDER BY id DESC LIMIT 1) "
                                "FROM batch_event AS e WHERE e.id = ?1",
                                "reading a batch"},
    [PM_SQL_RULE_NEXT] = {"SELECT max(id) FROM limit_rule", "saving a limit"},
    [PM_SQL_MATTER] =
        {"SELECT n.name, m.cas, m.kind, (SELECT group_concat(o.name, char(10)) FROM material_name "
         "AS o WHERE o.material = m.id AND o.place > 0), (SELECT s.id FROM material_name AS o "
         "JOIN substance AS s ON s.folded = o.folded WHERE o.material = m.id ORDER BY o.place "
         "LIMIT 1), (SELECT CASE count(*) WHEN 1 THEN max(c.substance) END FROM substance_cas AS c "
         "WHERE c.cas = m.cas), EXISTS (SELECT 1 FROM constituent WHERE material = m.id) "
         "FROM material AS m JOIN material_name AS n ON n.material = m.id AND n.place = 0 "
         "WHERE m.id = ?1",
         "reading a material"},
    [PM_SQL_RULE_INSERT] =
        {"INSERT INTO limit_rule (id, rule_set, own, replaces, name, kind, members, cas, scope, "
         "percent, unlimited, note, source, dated, made_at, checksum) VALUES (?1, ?2, ?3, ?4, ?5, "
         "?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, pm_checksum('limit_rule', ?1, ?2, ?3, ?4, "
         "?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15))",
         "saving a limit"},
    [PM_SQL_RULE_LIST] = {"SELECT id, rule_set, own, replaces, name, kind, members, cas, scope, "
                          "ifnull(percent, -1), unlimited, note, source, dated, made_at "
                          "FROM limit_rule ORDER BY rule_set, id",
                          "reading the limits"},
    [PM_SQL_RULE_THERE] = {"SELECT id FROM limit_rule WHERE id = ?1", "reading the limits"},
    [PM_SQL_RULE_REMOVE] = {"DELETE FROM limit_rule WHERE id = ?1", "removing a limit"},
    [PM_SQL_RULE_SET_REMOVE] = {"DELETE FROM limit_rule WHERE rule_set = ?1",
                                "removing a set of limits"},
    [PM_SQL_CEILING_NEXT] = {"SELECT max(id) FROM ceiling", "saving a ceiling"},
    [PM_SQL_CEILING_NAMED] = {"SELECT id FROM ceiling WHERE ifnull(formula, 0) = ?1 AND kind = ?2 "
                              "AND folded = ?3",
                              "looking for a ceiling"},
    [PM_SQL_CEILING_PUT] =
        {"INSERT OR REPLACE INTO ceiling (id, formula, kind, name, folded, most, made_at, "
         "checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, "
         "pm_checksum('ceiling', ?1, ?2, ?3, ?4, ?5, ?6, ?7))",
         "saving a ceiling"},
    [PM_SQL_CEILING_DELETE] = {"DELETE FROM ceiling WHERE id = ?1", "removing a ceiling"},
    [PM_SQL_CEILING_LIST] = {"SELECT id, formula, kind, name, most FROM ceiling "
                             "ORDER BY ifnull(formula, 0), kind, folded",
                             "listing the ceilings"},
    [PM_SQL_BATCH_EVENT_LIST] =
        {"SELECT id, kind, at, text FROM batch_event WHERE batch = ?1 ORDER BY id",
         "reading a batch"},
    [PM_SQL_BALANCE_NEXT] = {"SELECT max(id) FROM balance", "saving a balance"},
    [PM_SQL_BALANCE_NAMED] = {"SELECT id FROM balance WHERE folded = ?1", "looking for a balance"},
    [PM_SQL_BALANCE_INSERT] =
        {"INSERT INTO balance (id, name, folded, readability, repeatability, least, capacity, "
         "made_at, checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, "
         "pm_checksum('balance', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8))",
         "saving a balance"},
    [PM_SQL_BALANCE_UPDATE] =
        {"UPDATE balance SET name = ?2, folded = ?3, readability = ?4, repeatability = ?5, "
         "least = ?6, capacity = ?7, made_at = ?8, "
         "checksum = pm_checksum('balance', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) WHERE id = ?1",
         "saving a balance"},
    [PM_SQL_BALANCE_DELETE] = {"DELETE FROM balance WHERE id = ?1", "removing a balance"},
    [PM_SQL_BALANCE_LIST] = {"SELECT id, name, readability, repeatability, least, capacity, "
                             "made_at FROM balance ORDER BY folded",
                             "listing the balances"},
    [PM_SQL_BATCH_PLAN_NEXT] = {"SELECT max(id) FROM batch_plan", "saving a batch"},
    [PM_SQL_BATCH_PLAN_INSERT] =
        {"INSERT INTO batch_plan (id, batch, balance, readability, repeatability, least, capacity, "
         "tolerance, cumulative, way, at, checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, "
         "?10, ?11, pm_checksum('batch_plan', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11))",
         "saving a batch"},
    [PM_SQL_BATCH_PLAN_GET] = {"SELECT id, balance, readability, repeatability, least, capacity, "
                               "tolerance, cumulative, way, at FROM batch_plan WHERE batch = ?1 "
                               "ORDER BY id DESC LIMIT 1",
                               "reading a batch"},
    [PM_SQL_BATCH_PLAN_LIST] =
        {"SELECT id, way, at, (SELECT sum(target) FROM batch_line AS l WHERE l.plan = p.id) "
         "FROM batch_plan AS p WHERE batch = ?1 ORDER BY id",
         "reading a batch"},
    [PM_SQL_BATCH_LINE_INSERT] =
        {"INSERT INTO batch_line (plan, place, line, material, bottle, strength, solvent, target, "
         "checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, "
         "pm_checksum('batch_line', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8))",
         "saving a batch"},
    [PM_SQL_BATCH_LINE_LIST] = {"SELECT place, line, material, bottle, strength, solvent, target "
                                "FROM batch_line WHERE plan = ?1 ORDER BY place",
                                "reading a batch"},
    [PM_SQL_BATCH_POUR_NEXT] = {"SELECT max(id) FROM batch_pour", "saving a pour"},
    [PM_SQL_BATCH_POUR_INSERT] =
        {"INSERT INTO batch_pour (id, batch, place, bottle, mass, movement, corrects, note, at, "
         "checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, "
         "pm_checksum('batch_pour', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9))",
         "saving a pour"},
    [PM_SQL_BATCH_POUR_LIST] =
        {"SELECT p.id, p.place, p.bottle, p.mass, p.movement, p.corrects, p.note, p.at, "
         "NOT EXISTS (SELECT 1 FROM batch_pour AS c WHERE c.corrects = p.id) "
         "FROM batch_pour AS p WHERE p.batch = ?1 ORDER BY p.id",
         "reading a batch"},
    [PM_SQL_BATCH_RECEIVED] =
        {"SELECT m.id, m.bottle, m.mass, m.trial FROM movement AS m WHERE m.batch = ?1 "
         "AND m.kind = 'received' AND m.mass + (SELECT ifnull(sum(c.mass), 0) FROM movement AS c "
         "WHERE c.corrects = m.id) <> 0 ORDER BY m.id DESC LIMIT 1",
         "reading a batch"},
    [PM_SQL_MADE_UP_GET] = {"SELECT material FROM made_up WHERE trial = ?1",
                            "looking for a made-up accord"},
    [PM_SQL_MADE_UP_PUT] = {"INSERT INTO made_up (trial, material, made_at, checksum) VALUES (?1, "
                            "?2, ?3, pm_checksum('made_up', ?1, ?2, ?3))",
                            "saving a made-up accord"},
    [PM_SQL_FILLING_NEXT] = {"SELECT max(id) FROM filling", "saving a filling"},
    [PM_SQL_FILLING_INSERT] =
        {"INSERT INTO filling (id, batch, concentrate, ethanol, water, other, at_hand, bottles, "
         "filter_on, ready_on, note, at, checksum) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, "
         "?10, ?11, ?12, pm_checksum('filling', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, "
         "?12))",
         "saving a filling"},
    [PM_SQL_FILLING_LIST] = {"SELECT id, batch, concentrate, ethanol, water, other, at_hand, "
                             "bottles, filter_on, ready_on, note, at FROM filling ORDER BY id DESC",
                             "listing the fillings"},
    [PM_SQL_FILLING_EVENT_NEXT] = {"SELECT max(id) FROM filling_event", "saving what was done"},
    [PM_SQL_FILLING_EVENT_INSERT] =
        {"INSERT INTO filling_event (id, filling, kind, day, note, at, checksum) VALUES (?1, ?2, "
         "?3, ?4, ?5, ?6, pm_checksum('filling_event', ?1, ?2, ?3, ?4, ?5, ?6))",
         "saving what was done"},
    [PM_SQL_FILLING_EVENT_LIST] =
        {"SELECT id, filling, kind, day, note, at FROM filling_event ORDER BY id",
         "listing the fillings"},
    [PM_SQL_RATE_NEXT] = {"SELECT max(id) FROM currency_rate", "saving a rate of exchange"},
    [PM_SQL_RATE_INSERT] =
        {"INSERT INTO currency_rate (id, currency, other, rate, day, at, checksum) "
         "VALUES (?1, ?2, ?3, ?4, ?5, ?6, "
         "pm_checksum('currency_rate', ?1, ?2, ?3, ?4, ?5, ?6))",
         "saving a rate of exchange"},
    [PM_SQL_RATE_GET] = {"SELECT rate, day FROM currency_rate WHERE currency = ?1 AND other = ?2 "
                         "AND day <= ?3 ORDER BY day DESC, id DESC LIMIT 1",
                         "reading a rate of exchange"},
    [PM_SQL_RATE_LIST] = {"SELECT currency, other, rate, day FROM currency_rate AS r WHERE id = "
                          "(SELECT max(id) FROM currency_rate WHERE currency = r.currency "
                          "AND other = r.other AND day = r.day) "
                          "ORDER BY day DESC, currency, other",
                          "reading the rates of exchange"},

    /* An image is a JSON array of the row's columns without its checksum, or of several such rows;
     * no row: NULL. Written rows are checksummed anew. */
    [PM_SQL_IMAGE_MATERIAL] = {"SELECT json_array(kind, cas, family, note, set_aside, "
                               "merged_into, made_at) FROM material WHERE id = ?1",
                               "remembering what changes"},
    [PM_SQL_IMAGE_NAMES] = {"SELECT json_group_array(json_array(place, name, folded)) FROM "
                            "(SELECT * FROM material_name WHERE material = ?1 ORDER BY place) "
                            "HAVING count(*) > 0",
                            "remembering what changes"},
    [PM_SQL_IMAGE_FACTS] =
        {"SELECT json_group_array(json_array(property, origin, value, words, source, confidence)) "
         "FROM (SELECT * FROM material_fact WHERE material = ?1 AND origin = ?2 ORDER BY property) "
         "HAVING count(*) > 0",
         "remembering what changes"},
    [PM_SQL_IMAGE_CONSTITUENTS] =
        {"SELECT json_group_array(json_array(origin, place, substance, least, typical, most, "
         "source, confidence)) FROM (SELECT * FROM constituent WHERE material = ?1 "
         "AND origin = ?2 ORDER BY place) HAVING count(*) > 0",
         "remembering what changes"},
    [PM_SQL_IMAGE_STARTER] = {"SELECT json_array(name) FROM material_starter WHERE material = ?1",
                              "remembering what changes"},
    [PM_SQL_IMAGE_BOTTLE] =
        {"SELECT json_array(material, strength, solvent, lot, supplier, bought, opened, "
         "best_before, place, tare, price, currency, priced_mass, note, made_from, set_aside, "
         "made_at) FROM bottle WHERE id = ?1",
         "remembering what changes"},
    [PM_SQL_IMAGE_BATCH] = {"SELECT json_array(trial, mass, day, note, made_by, made_at) "
                            "FROM batch WHERE id = ?1",
                            "remembering what changes"},
    [PM_SQL_IMAGE_FORMULA] = {"SELECT json_array(set_aside) FROM formula WHERE id = ?1",
                              "remembering what changes"},
    [PM_SQL_TAKE_FACTS] = {"DELETE FROM material_fact WHERE material = ?1 AND origin = ?2",
                           "bringing back"},
    [PM_SQL_TAKE_CONSTITUENTS] = {"DELETE FROM constituent WHERE material = ?1 "
                                  "AND origin = ?2",
                                  "bringing back"},
    [PM_SQL_TAKE_STARTER] = {"DELETE FROM material_starter WHERE material = ?1", "bringing back"},
    [PM_SQL_BACK_MATERIAL] =
        {"INSERT INTO material (id, kind, cas, family, note, set_aside, merged_into, made_at, "
         "checksum) SELECT ?1, a, b, c, d, e, f, g, "
         "pm_checksum('material', ?1, a, b, c, d, e, f, g) FROM (SELECT ?2 ->> 0 AS a, "
         "?2 ->> 1 AS b, ?2 ->> 2 AS c, ?2 ->> 3 AS d, ?2 ->> 4 AS e, ?2 ->> 5 AS f, "
         "?2 ->> 6 AS g) WHERE true ON CONFLICT (id) DO UPDATE SET kind = excluded.kind, "
         "cas = excluded.cas, family = excluded.family, note = excluded.note, "
         "set_aside = excluded.set_aside, merged_into = excluded.merged_into, "
         "checksum = excluded.checksum",
         "bringing back a material"},
    [PM_SQL_BACK_NAMES] = {"INSERT INTO material_name (material, place, name, folded, checksum) "
                           "SELECT ?1, a, b, c, pm_checksum('material_name', ?1, a, b, c) FROM "
                           "(SELECT value ->> 0 AS a, value ->> 1 AS b, pm_fold(value ->> 1) AS c "
                           "FROM json_each(?2))",
                           "bringing back the names of a material"},
    [PM_SQL_BACK_FACTS] =
        {"INSERT INTO material_fact (material, property, origin, value, words, source, confidence, "
         "checksum) SELECT ?1, a, b, c, d, e, f, "
         "pm_checksum('material_fact', ?1, a, b, c, d, e, f) FROM "
         "(SELECT value ->> 0 AS a, value ->> 1 AS b, value ->> 2 AS c, value ->> 3 AS d, "
         "value ->> 4 AS e, value ->> 5 AS f FROM json_each(?2))",
         "bringing back what is known of a material"},
    [PM_SQL_BACK_CONSTITUENTS] =
        {"INSERT INTO constituent (material, origin, place, substance, least, typical, most, "
         "source, confidence, checksum) SELECT ?1, a, b, c, d, e, f, g, h, "
         "pm_checksum('constituent', ?1, a, b, c, d, e, f, g, h) FROM "
         "(SELECT value ->> 0 AS a, value ->> 1 AS b, value ->> 2 AS c, value ->> 3 AS d, "
         "value ->> 4 AS e, value ->> 5 AS f, value ->> 6 AS g, value ->> 7 AS h "
         "FROM json_each(?2))",
         "bringing back the constituents of a natural"},
    [PM_SQL_BACK_STARTER] = {"INSERT INTO material_starter (material, name, checksum) "
                             "SELECT ?1, a, pm_checksum('material_starter', ?1, a) "
                             "FROM (SELECT ?2 ->> 0 AS a)",
                             "bringing back a material"},
    [PM_SQL_BACK_BOTTLE] =
        {"UPDATE bottle SET material = v.a, strength = v.b, solvent = v.c, lot = v.d, "
         "supplier = v.e, bought = v.f, opened = v.g, best_before = v.h, place = v.i, tare = v.j, "
         "price = v.k, currency = v.l, priced_mass = v.m, note = v.n, made_from = v.o, "
         "set_aside = v.p, checksum = pm_checksum('bottle', ?1, v.a, v.b, v.c, v.d, v.e, v.f, "
         "v.g, v.h, v.i, v.j, v.k, v.l, v.m, v.n, v.o, v.p, made_at) FROM (SELECT ?2 ->> 0 AS a, "
         "?2 ->> 1 AS b, ?2 ->> 2 AS c, ?2 ->> 3 AS d, ?2 ->> 4 AS e, ?2 ->> 5 AS f, "
         "?2 ->> 6 AS g, ?2 ->> 7 AS h, ?2 ->> 8 AS i, ?2 ->> 9 AS j, ?2 ->> 10 AS k, "
         "?2 ->> 11 AS l, ?2 ->> 12 AS m, ?2 ->> 13 AS n, ?2 ->> 14 AS o, ?2 ->> 15 AS p) AS v "
         "WHERE id = ?1",
         "bringing back a bottle"},
    [PM_SQL_BACK_BATCH] =
        {"UPDATE batch SET mass = v.b, day = v.c, note = v.d, made_by = v.e, "
         "checksum = pm_checksum('batch', ?1, trial, v.b, v.c, v.d, v.e, made_at) "
         "FROM (SELECT ?2 ->> 1 AS b, ?2 ->> 2 AS c, ?2 ->> 3 AS d, ?2 ->> 4 AS e) AS v "
         "WHERE id = ?1",
         "bringing back a batch"},
    [PM_SQL_BACK_FORMULA] =
        {"UPDATE formula SET set_aside = ?2 ->> 0, checksum = pm_checksum('formula', id, name, "
         "folded, accord, ?2 ->> 0, made_at, changed_at, kept, revisions, chain) WHERE id = ?1",
         "bringing back a formula"},
    [PM_SQL_BOTTLE_ASIDE] =
        {"UPDATE bottle SET set_aside = 1, checksum = pm_checksum('bottle', id, material, "
         "strength, solvent, lot, supplier, bought, opened, best_before, place, tare, price, "
         "currency, priced_mass, note, made_from, 1, made_at) WHERE id = ?1",
         "taking back a bottle"},
    [PM_SQL_SHELF_NUMBER] = {"SELECT max(id) FROM shelf_entry", "saving the change"},
    [PM_SQL_SHELF_INSERT] =
        {"INSERT INTO shelf_entry (id, parent, target, at, gesture, sentence, change, checksum) "
         "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, "
         "pm_checksum('shelf_entry', ?1, ?2, ?3, ?4, ?5, ?6, ?7))",
         "saving the change"},
    [PM_SQL_SHELF_GET] = {"SELECT parent, sentence, change FROM shelf_entry WHERE id = ?1",
                          "reading the shelf's history"},
    [PM_SQL_SHELF_LIST] =
        {"WITH RECURSIVE way (id) AS (SELECT entry FROM shelf_head WHERE entry IS NOT NULL "
         "UNION SELECT e.parent FROM way JOIN shelf_entry AS e ON e.id = way.id "
         "WHERE e.parent >= (SELECT max(id) - ?1 FROM shelf_entry)) "
         "SELECT id, parent, target, at, gesture, sentence, "
         "change IS NOT NULL AND id NOT IN (SELECT id FROM way) FROM shelf_entry "
         "ORDER BY id DESC LIMIT ?1",
         "listing the shelf's history"},
    [PM_SQL_SHELF_NEXT] = {"SELECT id FROM shelf_entry WHERE parent IS ?1 AND change IS NOT NULL "
                           "ORDER BY id DESC LIMIT 1",
                           "looking for what to redo"},
    [PM_SQL_SHELF_HEAD_GET] = {"SELECT entry FROM shelf_head", "reading the shelf's history"},
    [PM_SQL_SHELF_HEAD_PUT] = {"UPDATE shelf_head SET entry = ?1", "saving the change"},
    [PM_SQL_CHANGE_ROWS] = {"SELECT value ->> 0, value ->> 1, value ->> 2, value ->> 3 "
                            "FROM json_each(?1)",
                            "reading a change of the shelf"},
};

const char *pm_sql_text(enum pm_sql which)
{
    return statements[which].text;
}

const char *pm_sql_doing(enum pm_sql which)
{
    return statements[which].doing;
}
