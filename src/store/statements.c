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
    [PM_SQL_MATERIAL_DELETE] = {"DELETE FROM material WHERE id = ?1", "removing the material"},
    [PM_SQL_MATERIAL_GET] = {"SELECT m.kind, m.cas, m.family, m.note, m.set_aside, m.merged_into, "
                             "m.made_at FROM material AS m WHERE m.id = ?1",
                             "reading a material"},
    [PM_SQL_MATERIAL_COUNT] = {"SELECT count(*) FROM material", "counting the materials"},
    [PM_SQL_MATERIAL_USERS] = {"SELECT f.name FROM material_use AS u "
                               "JOIN formula AS f ON f.id = u.formula WHERE u.material = ?1 "
                               "ORDER BY f.folded",
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
    [PM_SQL_SEARCH_HIT] = {"SELECT n.name, m.cas, m.family, m.kind, s.name "
                           "FROM material AS m JOIN material_name AS n "
                           "ON n.material = m.id AND n.place = 0 "
                           "LEFT JOIN material_name AS s ON s.material = m.id AND s.place = ?2 "
                           "WHERE m.id = ?1",
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
    [PM_SQL_FORMULA_USERS] = {"SELECT DISTINCT t.formula FROM trial AS k "
                              "JOIN line AS l ON l.accord = k.id JOIN trial AS t ON t.id = l.trial "
                              "WHERE k.formula = ?1 ORDER BY t.formula",
                              "looking where an accord is used"},
    [PM_SQL_FORMULA_HISTORY] = {"SELECT kept, revisions, chain FROM formula WHERE id = ?1",
                                "reading a formula"},

    [PM_SQL_TRIAL_NEXT] = {"SELECT max(id) FROM trial", "making the draft"},
    [PM_SQL_TRIAL_INSERT] =
        {"INSERT INTO trial (id, formula, number, parent, head, mode, base, settled, next_line, "
         "line_count, total, content, made_at, kept_at, note, checksum) "
         "VALUES (?1, ?2, NULL, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, NULL, NULL, "
         "pm_checksum('trial', ?1, ?2, NULL, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, NULL, "
         "NULL))",
         "making the draft"},
    [PM_SQL_TRIAL_WRITE] =
        {"UPDATE trial SET parent = ?2, head = ?3, mode = ?4, base = ?5, settled = ?6, "
         "next_line = ?7, line_count = ?8, total = ?9, content = ?10, "
         "checksum = pm_checksum('trial', id, formula, NULL, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, "
         "made_at, NULL, NULL) WHERE id = ?1",
         "saving the change"},
    [PM_SQL_TRIAL_SEAL] =
        {"UPDATE trial SET number = ?2, kept_at = ?3, note = ?4, "
         "checksum = pm_checksum('trial', id, formula, ?2, parent, head, mode, base, settled, "
         "next_line, line_count, total, content, made_at, ?3, ?4) WHERE id = ?1",
         "keeping the trial"},
    [PM_SQL_TRIAL_ROW] = {"SELECT " TRIAL_COLUMNS "WHERE t.id = ?1", "reading a trial"},
    [PM_SQL_TRIAL_CONTENT] =
        {"SELECT formula, number, parent, head, mode, base, settled, next_line, line_count, total, "
         "content, checksum = pm_checksum('trial', id, formula, number, parent, head, mode, base, "
         "settled, next_line, line_count, total, content, made_at, kept_at, note) "
         "FROM trial WHERE id = ?1",
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
                          "weight, comment, place FROM line WHERE trial = ?1 ORDER BY place, line",
                          "reading the lines of a trial"},
    [PM_SQL_LINES_COPY] =
        {"INSERT INTO line (trial, line, place, material, accord, strength, solvent, parts, "
         "stance, core, weight, comment) SELECT ?2, line, place, material, accord, strength, "
         "solvent, parts, stance, core, weight, comment FROM line WHERE trial = ?1",
         "keeping the trial"},
    [PM_SQL_LINE_INSERT] =
        {"INSERT INTO line (trial, line, place, material, accord, strength, solvent, parts, "
         "stance, core, weight, comment) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, "
         "?12)",
         "saving the change"},
    [PM_SQL_LINE_UPDATE] = {"UPDATE line SET place = ?3, material = ?4, accord = ?5, "
                            "strength = ?6, solvent = ?7, parts = ?8, stance = ?9, core = ?10, "
                            "weight = ?11, comment = ?12 WHERE trial = ?1 AND line = ?2",
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
};

const char *pm_sql_text(enum pm_sql which)
{
    return statements[which].text;
}

const char *pm_sql_doing(enum pm_sql which)
{
    return statements[which].doing;
}
