/* SPDX-License-Identifier: MIT */
/*
 * What commands take and answer of an entity is what its description says: options, keys of JSON,
 * headings of tables. What a command has beyond it, or leaves out, is named here. What is typed
 * stays in the file, and undo and redo bring all of it back.
 */
#include "program.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/word.h"
#include "permille/core/batch.h"
#include "permille/core/blind.h"
#include "permille/core/bottle.h"
#include "permille/core/constituent.h"
#include "permille/core/material.h"
#include "permille/core/smelled.h"
#include "permille/core/weighed.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* ---- words ----------------------------------------------------------------------------------- */

/* "|a|b|" of what is expected or found; words are added once. */
static void add_word(struct pm_text *list, const char *word, size_t length)
{
    char piece[80];
    snprintf(piece, sizeof piece, "|%.*s|", (int)length, word);
    if (list->length == 0)
        pm_text_add_char(list, '|');
    if (strstr(pm_text_get(list), piece) == NULL)
        pm_text_addf(list, "%s", piece + 1);
}

static void add_words(struct pm_text *list, const char *words)
{
    size_t length;
    const char *word;
    for (int i = 0; (word = pm_word_at(words, i, &length)) != NULL; i++)
        add_word(list, word, length);
}

static void assert_holds(const char *what, const char *list, const char *other,
                         const char *sentence)
{
    for (const char *at = list + (*list == '|'); *at != '\0';) {
        char piece[80];
        const size_t length = strcspn(at, "|");
        snprintf(piece, sizeof piece, "|%.*s|", (int)length, at);
        if (strstr(other, piece) == NULL)
            fail_msg("%s: %s %s", what, piece, sentence);
        at += length + 1;
    }
}

static void assert_same_words(const char *what, struct pm_text *expected, struct pm_text *found)
{
    assert_holds(what, pm_text_get(expected), pm_text_get(found), "is missing");
    assert_holds(what, pm_text_get(found), pm_text_get(expected), "is no part of the description");
    pm_text_release(expected);
    pm_text_release(found);
}

/* ---- options --------------------------------------------------------------------------------- */

#define TAKEN "at|kind|mass|other|found|corrects"

static const struct {
    const struct pm_entity *entity;
    const char *const words[3];
    const char *without; /* attributes that an operand tells, or that the command does not take */
    const char *own;     /* options beside */
} options[] = {
    {&pm_material_entity, {"material", "add"}, "name", ""},
    {&pm_material_entity, {"material", "edit"}, "", ""},
    {&pm_constituent_entity, {"material", "holds"}, "name", ""},
    {&pm_bottle_entity, {"bottle", "add"}, "", ""},
    {&pm_bottle_entity, {"bottle", "edit"}, "", ""},
    {&pm_bottle_entity,
     {"dilute"},
     "strength|made_from",
     "from|solvent-from|readability|stock-weighed|solvent-weighed|try|even-off|even-below"},
    {&pm_movement_entity, {"bottle", "pour"}, TAKEN, "even-below"},
    {&pm_movement_entity, {"bottle", "fill"}, TAKEN, "even-below"},
    {&pm_movement_entity, {"bottle", "spill"}, TAKEN, "even-below"},
    {&pm_movement_entity, {"bottle", "discard"}, TAKEN, "even-below"},
    {&pm_movement_entity, {"bottle", "count"}, TAKEN "|batch", ""},
    {&pm_movement_entity, {"bottle", "empty"}, TAKEN "|batch", ""},
    {&pm_smell_entity, {"smell"}, "trial", "withdraw"},
    {&pm_session_entity, {"session", "start"}, "trial", ""},
    {&pm_panel_entity, {"panel", "new"}, "name|trials", "two-sided"},
    {&pm_batch_entity, {"plan", "add"}, "trial|mass", ""},
    {&pm_balance_entity, {"balance", "add"}, "name|readability", ""},
    {&pm_balance_entity, {"balance", "edit"}, "", ""},
};

/* The options that help names, each at the beginning of a line. */
static void read_options(struct program *p, const char *const *command, struct pm_text *found)
{
    program_does(p, command[1] != NULL ? WORDS("help", command[0], command[1])
                                       : WORDS("help", command[0]));
    for (const char *at = p->out; (at = strstr(at, "\n  --")) != NULL;) {
        at += strlen("\n  --");
        add_word(found, at, strcspn(at, " \n"));
    }
}

static void options_are_those_of_the_description(void **state)
{
    struct program *p = *state;
    char option[PM_OPTION_TEXT];
    for (size_t c = 0; c < sizeof options / sizeof options[0]; c++) {
        struct pm_text expected = PM_TEXT_EMPTY, found = PM_TEXT_EMPTY;
        add_words(&expected, options[c].own);
        for (size_t i = 0; i < options[c].entity->count; i++) {
            const struct pm_attribute *attribute = &options[c].entity->attributes[i];
            if (!pm_word_among(options[c].without, attribute->key))
                add_words(&expected, pm_attribute_option(attribute, option));
        }
        read_options(p, options[c].words, &found);
        assert_same_words(options[c].words[1] != NULL ? options[c].words[1] : options[c].words[0],
                          &expected, &found);
    }
}

/* ---- a library with one of each ----------------------------------------------------------------
 */

static void fill(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("material", "holds", "Alpha", "Linalool", "--at-most", "2%"));
    program_does(p, WORDS("bottle", "add", "Alpha", "10g", "--price", "20 EUR"));
    program_does(p, WORDS("bottle", "pour", "B001", "1g", "--note", "spare"));
    program_does(p, WORDS("bottle", "count", "B001", "8g"));
    program_does(p, WORDS("new", "Quay"));
    program_does(p, WORDS("add", "Quay", "Alpha", "400"));
    program_does(p, WORDS("add", "Quay", "Beta", "600"));
    program_does(p, WORDS("keep", "Quay"));
    program_does(p, WORDS("set", "Quay", "Alpha", "500"));
    program_does(p, WORDS("keep", "Quay"));
    program_does(p, WORDS("smell", "Quay/1", "--at", "5min", "--intensity", "5"));
    program_does(p, WORDS("session", "start", "Quay/1"));
    program_does(p, WORDS("panel", "new", "Dry", "Quay/1", "Quay/2", "--kind", "triangle"));
    program_does(p, WORDS("plan", "add", "Quay/1", "100g"));
    program_does(p, WORDS("balance", "add", "Bench", "0.01g"));
}

/* ---- JSON ------------------------------------------------------------------------------------ */

static const struct {
    const struct pm_entity *entity;
    const char *const words[4];
    const char *path;
    const char *without; /* attributes that are not answered there */
    const char *own;     /* keys of what is worked out */
} answers[] = {
    {&pm_material_entity,
     {"material", "show", "Alpha"},
     "$",
     "",
     "set_aside|facts|constituents|cautions"},
    {&pm_constituent_entity,
     {"material", "show", "Alpha"},
     "$.constituents[0]",
     "",
     "confidence|own"},
    {&pm_bottle_entity,
     {"bottle", "show", "B001"},
     "$",
     "",
     "bottle|material|left_g|left_ml|past_date|set_aside|movements"},
    {&pm_movement_entity, {"bottle", "show", "B001"}, "$.movements[0]", "found", "left_g|movement"},
    {&pm_smell_entity,
     {"smells", "Quay"},
     "$.smells[0]",
     "",
     "smell|stage|entered_at|corrected_by|withdrawn"},
    {&pm_session_entity,
     {"session", "list"},
     "$.session[0]",
     "",
     "session|ended_at|since_s|smells|due|due_after_s|due_at|late_s|state|remark"},
    {&pm_batch_entity, {"plan", "list"}, "$.plans[0]", "", "plan|done"},
    {&pm_batch_entity, {"batch", "list"}, "$.batches[0]", "", "batch|state|made_by"},
    {&pm_balance_entity, {"balance", "list"}, "$.balances[0]", "", "minimum_g|in_use"},
    {&pm_panel_entity,
     {"panel", "show", "Dry"},
     "$",
     "",
     "id|trials|expected|answered|closed|made_at|closed_at|result|words|remarks|rounds"},
};

static void read_keys(struct program *p, const char *path, struct pm_text *found)
{
    sqlite3_stmt *keys;
    assert_int_equal(
        sqlite3_prepare_v2(p->reader, "SELECT key FROM json_each(?, ?)", -1, &keys, NULL),
        SQLITE_OK);
    sqlite3_bind_text(keys, 1, p->out, (int)p->out_length, SQLITE_STATIC);
    sqlite3_bind_text(keys, 2, path, -1, SQLITE_STATIC);
    while (sqlite3_step(keys) == SQLITE_ROW) {
        const char *key = (const char *)sqlite3_column_text(keys, 0);
        add_word(found, key, strlen(key));
    }
    sqlite3_finalize(keys);
}

static void keys_are_those_of_the_description(void **state)
{
    struct program *p = *state;
    char key[PM_OPTION_TEXT];
    fill(p);
    for (size_t a = 0; a < sizeof answers / sizeof answers[0]; a++) {
        struct pm_text expected = PM_TEXT_EMPTY, found = PM_TEXT_EMPTY;
        add_words(&expected, answers[a].own);
        for (size_t i = 0; i < answers[a].entity->count; i++) {
            const struct pm_attribute *attribute = &answers[a].entity->attributes[i];
            if (attribute->typed_only || pm_word_among(answers[a].without, attribute->key))
                continue;
            add_words(&expected, pm_attribute_key(attribute, key));
            if (attribute->kind == PM_ATTRIBUTE_MONEY)
                add_words(&expected, "currency");
        }
        program_asks(p, answers[a].words);
        read_keys(p, answers[a].path, &found);
        assert_same_words(answers[a].entity->name, &expected, &found);
    }
}

/* ---- tables ---------------------------------------------------------------------------------- */

static const struct {
    const struct pm_entity *entity;
    const char *what;
    bool as_json;    /* headings are the keys of JSON */
    const char *own; /* headings beside */
} tables[] = {
    {&pm_material_entity, "materials", false, NULL},
    {&pm_bottle_entity, "bottles", false, "bottle|material|received_g|set_aside"},
    {&pm_movement_entity, "movements", true, "movement|bottle"},
};

static void headings_are_those_of_the_description(void **state)
{
    struct program *p = *state;
    char key[PM_OPTION_TEXT];
    fill(p);
    for (size_t t = 0; t < sizeof tables / sizeof tables[0]; t++) {
        struct pm_text expected = PM_TEXT_EMPTY, found = PM_TEXT_EMPTY;
        program_does(p, WORDS("export", tables[t].what));
        for (const char *at = p->out; *at != '\r' && *at != '\n';) {
            const size_t length = strcspn(at, ",\r\n");
            add_word(&found, at, length);
            at += length + (at[length] == ',');
        }
        add_words(&expected, tables[t].own != NULL ? tables[t].own : "");
        for (size_t i = 0; i < tables[t].entity->count; i++) {
            const struct pm_attribute *attribute = &tables[t].entity->attributes[i];
            const char *heading =
                tables[t].as_json ? pm_attribute_key(attribute, key) : attribute->key;
            add_words(&expected, heading);
        }
        /* Of a material its properties stand beside. */
        if (tables[t].own == NULL) {
            assert_holds(tables[t].what, pm_text_get(&expected), pm_text_get(&found), "is missing");
            pm_text_release(&expected);
            pm_text_release(&found);
        } else {
            assert_same_words(tables[t].what, &expected, &found);
        }
    }
}

/* What goes out comes in again: every heading is known. */
static void tables_come_back(void **state)
{
    struct program *p = *state;
    char *elsewhere = program_path(p, "elsewhere.permille"), *here = p->library;
    fill(p);
    for (size_t t = 0; t < sizeof tables / sizeof tables[0]; t++) {
        char *path = program_path(p, tables[t].what);
        program_does(p, WORDS("export", tables[t].what));
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        assert_int_equal(fwrite(p->out, 1, p->out_length, file), p->out_length);
        fclose(file);
        p->library = elsewhere;
        program_does(p, WORDS("import", path));
        p->library = here;
        pm_free(path);
    }
    pm_free(elsewhere);
}

/* ---- what is typed is kept ------------------------------------------------------------------- */

static const struct {
    const struct pm_entity *entity;
    const char *const edit[4];
    const char *const show[4];
    const char *path;
    const char *without; /* attributes that cannot be edited alone here, or are not in the answer */
    bool undone;         /* the shelf's history takes it back */
} edits[] = {
    {&pm_material_entity,
     {"material", "edit", "Alpha"},
     {"material", "show", "Alpha"},
     "$.",
     "name",
     true},
    {&pm_bottle_entity, {"bottle", "edit", "B001"}, {"bottle", "show", "B001"}, "$.", "", true},
    {&pm_balance_entity,
     {"balance", "edit", "Bench"},
     {"balance", "list"},
     "$.balances[0].",
     "name",
     false},
};

/* Something that can be typed for it; NULL: that depends on what else there is. */
static const char *good_text(const struct pm_attribute *attribute)
{
    switch (attribute->kind) {
    case PM_ATTRIBUTE_TEXT:
    case PM_ATTRIBUTE_NOTE:
    case PM_ATTRIBUTE_NAMES:
        return "Slate grey";
    case PM_ATTRIBUTE_CAS:
        return "64-17-5";
    case PM_ATTRIBUTE_MASS:
        return "0.05g";
    case PM_ATTRIBUTE_DAY:
        return "2026-02-28";
    case PM_ATTRIBUTE_MONEY:
        return "7.50 EUR";
    case PM_ATTRIBUTE_COUNT:
    case PM_ATTRIBUTE_LEVEL:
        return "3";
    case PM_ATTRIBUTE_DECIMAL:
        return "2";
    case PM_ATTRIBUTE_CHOICE:
        return "natural";
    default:
        return NULL;
    }
}

static char *answer_of(struct program *p, const char *const *words)
{
    program_asks(p, words);
    return pm_strdup(p->out);
}

/* One attribute alone: it is in the answer, and the shelf's undo and redo know it, too. */
static void edit_one(struct program *p, size_t e, const struct pm_attribute *attribute)
{
    char option[PM_OPTION_TEXT + 2] = "--", key[PM_OPTION_TEXT], path[PM_OPTION_TEXT + 40];
    const char *const *words = edits[e].edit;
    pm_attribute_option(attribute, option + 2);
    snprintf(path, sizeof path, "%s%s", edits[e].path, pm_attribute_key(attribute, key));
    char *before = answer_of(p, edits[e].show);
    char *was = pm_strdup(program_value(p, path));
    program_does(p, WORDS(words[0], words[1], words[2], option, good_text(attribute)));
    char *after = answer_of(p, edits[e].show);
    if (strcmp(program_value(p, path), was) == 0)
        fail_msg("%s %s %s is not kept: %s", words[0], words[1], option, was);
    if (edits[e].undone) {
        program_does(p, WORDS("shelf", "undo"));
        char *undone = answer_of(p, edits[e].show);
        assert_string_equal(before, undone);
        program_does(p, WORDS("shelf", "redo"));
        char *redone = answer_of(p, edits[e].show);
        assert_string_equal(after, redone);
        pm_free(undone);
        pm_free(redone);
    }
    pm_free(before);
    pm_free(was);
    pm_free(after);
}

static void what_is_typed_is_kept(void **state)
{
    struct program *p = *state;
    fill(p);
    for (size_t e = 0; e < sizeof edits / sizeof edits[0]; e++)
        for (size_t i = 0; i < edits[e].entity->count; i++) {
            const struct pm_attribute *attribute = &edits[e].entity->attributes[i];
            if (!attribute->typed_only && good_text(attribute) != NULL &&
                !pm_word_among(edits[e].without, attribute->key))
                edit_one(p, e, attribute);
        }
    program_does(p, WORDS("verify"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(options_are_those_of_the_description, program_set_up,
                                        program_tear_down),
        cmocka_unit_test_setup_teardown(keys_are_those_of_the_description, program_set_up,
                                        program_tear_down),
        cmocka_unit_test_setup_teardown(headings_are_those_of_the_description, program_set_up,
                                        program_tear_down),
        cmocka_unit_test_setup_teardown(tables_come_back, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(what_is_typed_is_kept, program_set_up, program_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
