/* SPDX-License-Identifier: MIT */
/*
 * Every SQL statement the store prepares, by name. The texts stand in statements.c, in the same
 * order by topic; a new topic adds its names here and its texts there.
 */
#ifndef PERMILLE_STORE_STATEMENTS_H
#define PERMILLE_STORE_STATEMENTS_H

enum pm_sql {
    /* the library as a whole */
    PM_SQL_DATA_VERSION,
    PM_SQL_LAST_COMMIT_GET,
    PM_SQL_LAST_COMMIT_PUT,
    PM_SQL_SETTING_GET,
    PM_SQL_SETTING_PUT,
    /* materials */
    PM_SQL_MATERIAL_NEXT,
    PM_SQL_MATERIAL_INSERT,
    PM_SQL_MATERIAL_UPDATE,
    PM_SQL_MATERIAL_DELETE,
    PM_SQL_MATERIAL_GET,
    PM_SQL_MATERIAL_COUNT,
    PM_SQL_MATERIAL_USERS,
    PM_SQL_MATERIAL_MERGED_HERE,
    PM_SQL_NAME_INSERT,
    PM_SQL_NAMES_DELETE,
    PM_SQL_NAMES_GET,
    PM_SQL_NAME_FIND,
    PM_SQL_CAS_FIND,
    PM_SQL_SEARCH_PREFIX,
    PM_SQL_SEARCH_BLOCKS,
    PM_SQL_SEARCH_FACTS,
    PM_SQL_SEARCH_NUMBERS,
    PM_SQL_SEARCH_GET,
    PM_SQL_SEARCH_PUT,
    PM_SQL_SEARCH_DROP,
    PM_SQL_SEARCH_HIT,
    /* formulas */
    PM_SQL_FORMULA_NEXT,
    PM_SQL_FORMULA_INSERT,
    PM_SQL_FORMULA_UPDATE,
    PM_SQL_FORMULA_TOUCH,
    PM_SQL_FORMULA_GET,
    PM_SQL_FORMULA_FIND,
    PM_SQL_FORMULA_LIST,
    PM_SQL_FORMULA_USERS,
    PM_SQL_FORMULA_HISTORY,
    /* trials and their lines */
    PM_SQL_TRIAL_NEXT,
    PM_SQL_TRIAL_INSERT,
    PM_SQL_TRIAL_WRITE,
    PM_SQL_TRIAL_SEAL,
    PM_SQL_TRIAL_ROW,
    PM_SQL_TRIAL_CONTENT,
    PM_SQL_TRIAL_BY_NUMBER,
    PM_SQL_TRIAL_DRAFT,
    PM_SQL_TRIAL_LIST,
    PM_SQL_TRIAL_ALL,
    PM_SQL_LINES_GET,
    PM_SQL_LINES_COPY,
    PM_SQL_LINE_INSERT,
    PM_SQL_LINE_UPDATE,
    PM_SQL_LINE_DELETE,
    PM_SQL_MARK_NEXT,
    PM_SQL_MARK_INSERT,
    /* revisions */
    PM_SQL_REVISION_NEXT,
    PM_SQL_REVISION_INSERT,
    PM_SQL_REVISION_GET,
    PM_SQL_REVISION_CHILD,
    PM_SQL_REVISION_LIST,
    PM_SQL_REVISION_CHAIN,
    PM_SQL_COUNT
};

/* The text of a statement, and what it does as the end of a sentence "while ...". */
const char *pm_sql_text(enum pm_sql which);
const char *pm_sql_doing(enum pm_sql which);

#endif
