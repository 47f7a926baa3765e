/* SPDX-License-Identifier: MIT */
/*
 * What commands answer with --json is what schema/json says (JSON Schema, draft 2020-12, of which
 * the words type, properties, required, items, enum, additionalProperties and minimum are used and
 * checked here). Every schema has its command.
 */
#include "program.h"
#include "src/cli/cli.h"

#include "permille/base/json_read.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define WORDS_MOST 12

static const char *const story[][WORDS_MOST] = {
    {"material", "add", "Alpha", "--cas", "106-22-9", "--synonym", "First"},
    {"material", "add", "Beta"},
    {"material", "add", "Gamma"},
    {"material", "add", "Carrier", "--kind", "solvent"},
    {"new", "Root", "--accord"},
    {"add", "Root", "Gamma", "1000"},
    {"keep", "Root"},
    {"new", "Heart"},
    {"add", "Heart", "Alpha", "500"},
    {"add", "Heart", "Beta", "250", "--at", "10%", "--in", "Carrier"},
    {"add", "Heart", "--accord", "Root/1", "250"},
    {"core", "Heart", "Alpha", "Beta"},
    {"keep", "Heart", "--note", "first"},
    {"set", "Heart", "Alpha", "510"},
    {"undo", "Heart"},
    {"set", "Heart", "Alpha", "520"},
    {"keep", "Heart"},
    {"mark", "Heart/2", "warm"},
    {"bottle", "add", "Alpha", "10g", "--price", "20 EUR", "--lot", "K7"},
    {"bottle", "add", "Carrier", "1kg"},
    {"smell", "Heart/1", "--at", "15min", "--intensity", "6", "--note", "dry"},
    {"session", "start", "Heart/2"},
    {"panel", "new", "Pair", "Heart/1", "Heart/2", "--kind", "triangle", "--rounds", "6", "--seed",
     "7"},
    {"plan", "add", "Heart/1", "10g"},
    {"rate", "EUR", "1.2", "USD"},
    {"ceiling", "set", "top", "20%"},
    {"balance", "add", "Kitchen", "0.01g", "--capacity", "500g"},
    {"balance", "add", "Fine", "0.001g", "--repeatability", "0.0015g", "--least", "0.1g"},
    {"bottle", "add", "Beta", "1g", "--at", "10%", "--in", "Carrier", "--price", "5 EUR"},
    {"batch", "start", "Heart/1", "10g", "--as-it-is", "--by", "an owner"},
    {"batch", "pour", "2", "Beta", "4g"},
    {"batch", "pour", "2", "Alpha", "7g", "--note", "warm"},
    {"batch", "correct", "2", "2", "6g"},
    {"filling", "add", "10g", "20%", "--of-batch", "2", "--filter-on", "2020-01-10"},
    {"filling", "add", "10g", "20%"},
    {"filling", "done", "2", "matured"},
    {"material", "edit", "Alpha", "--family", "green"},
    {"material", "edit", "Beta", "--family", "green"},
    {"limit", "add", "Alpha", "0.5", "--source", "a paper"},
    {"new", "Rising"},
    {"add", "Rising", "Alpha", "400"},
    {"add", "Rising", "Gamma", "300"},
    {"add", "Rising", "Carrier", "300"},
    {"new", "Trace"},
    {"add", "Trace", "Alpha", "0.5"},
    {"add", "Trace", "Carrier", "999.5"},
};

/* "FILE" is a text of a formula, "TABLE" one of materials, "OTHER" another library, "NEW" one that
 * is to be. Those whose answer is JSON anyway say so.
 */
static const struct {
    const char *schema;
    bool plain;
    const char *words[WORDS_MOST];
} asked[] = {
    {"formulas", false, {"formulas"}},
    {"settings-list", false, {"settings", "list"}},
    {"settings-show", false, {"settings", "show", "mode"}},
    {"show", false, {"show", "Heart"}},
    {"show", false, {"show", "Heart/1"}},
    {"show-flat", false, {"show", "Heart", "--flat"}},
    {"trials", false, {"trials", "Heart"}},
    {"history", false, {"history", "Heart"}},
    {"compare", false, {"compare", "Heart/1", "Heart/2"}},
    {"material-list", false, {"material", "list"}},
    {"material-show", false, {"material", "show", "Alpha"}},
    {"bottle-list", false, {"bottle", "list"}},
    {"bottle-show", false, {"bottle", "show", "B001"}},
    {"stock", false, {"stock"}},
    {"needs", false, {"needs", "Heart/1", "10g"}},
    {"cost", false, {"cost", "Heart/1", "--batch", "10g"}},
    {"smells", false, {"smells", "Heart"}},
    {"session-list", false, {"session", "list"}},
    {"panel-list", false, {"panel", "list"}},
    {"panel-show", false, {"panel", "show", "Pair"}},
    {"plan-list", false, {"plan", "list"}},
    {"shelf-history", false, {"shelf", "history"}},
    {"limits", false, {"limits", "Heart", "--dosage", "15%", "--category", "4"}},
    {"label", false, {"label", "Heart", "--dosage", "15%", "--category", "4"}},
    {"profile", false, {"profile", "Heart"}},
    {"ceiling-list", false, {"ceiling", "list"}},
    {"drydown", false, {"drydown", "Heart"}},
    {"weigh-budget", false, {"weigh", "Heart/1", "--budget"}},
    {"verify", false, {"verify"}},
    {"import", false, {"import", "FILE", "--dry-run"}},
    {"keys-list", false, {"keys", "list"}},
    {"import-table", false, {"import", "TABLE", "--dry-run"}},
    {"import-library",
     false,
     {"import", "OTHER", "--plan", "--as", "material:Beta=Beta of the quay"}},
    {"formulas-document", true, {"export", "--formulas"}},
    {"formulas-document", true, {"export", "Heart/1"}},
    {"shelf-document", true, {"export", "shelf", "--as", "json"}},
    {"library", true, {"export", "--all"}},
    {"weigh", false, {"weigh", "Heart/1", "10g"}},
    {"weigh", false, {"weigh", "Trace", "10g"}},
    {"batch-list", false, {"batch", "list", "--all"}},
    {"batch-show", false, {"batch", "show", "2"}},
    {"batch-rescue", false, {"batch", "rescue", "2"}},
    {"batch-become", false, {"batch", "become", "2"}},
    {"balance-list", false, {"balance", "list"}},
    {"fill",
     false,
     {"fill", "10g", "20%", "--to", "80%", "--density", "0.95", "--bottle-ml", "10"}},
    {"fill", false, {"fill", "10g", "20%"}},
    {"filling-list", false, {"filling", "list"}},
    {"due", false, {"due"}},
    {"ladder", false, {"ladder", "Rising", "Alpha", "--doses", "100, 200, 400"}},
    {"smell", false, {"smell", "Rising/1", "--at", "15min", "--intensity", "3"}},
    {"smell", false, {"smell", "Rising/2", "--at", "15min", "--intensity", "5"}},
    {"smell", false, {"smell", "Rising/3", "--at", "15min", "--intensity", "7"}},
    {"response", false, {"response", "Alpha in Rising"}},
    {"response", false, {"response", "Alpha in Rising", "--intensity", "6"}},
    {"ratios", false, {"ratios", "Rising", "Alpha", "Gamma", "--lattice", "2", "--name", "Pair"}},
    {"ratios-rate", false, {"ratios", "rate", "Pair", "Rising/4", "6"}},
    {"ratios-rate", false, {"ratios", "rate", "Pair", "Rising/5", "8"}},
    {"ratios-rate", false, {"ratios", "rate", "Pair", "Rising/6", "5"}},
    {"ratios-fit", false, {"ratios", "fit", "Pair"}},
    {"leaveout", false, {"leaveout", "Rising", "Alpha", "--blind", "--rounds", "6"}},
    {"series-list", false, {"series", "list"}},
    {"series-show", false, {"series", "show", "1"}},
    {"series-show", false, {"series", "show", "Pair"}},
    {"series-weigh", false, {"series", "weigh", "1", "10g"}},
    {"fit", false, {"fit", "Heart"}},
    {"panel-codes", false, {"panel", "codes", "Pair"}},
    {"limit-list", false, {"limit", "list"}},
    {"limit-sets", false, {"limit", "sets"}},
    {"possible", false, {"possible", "10g"}},
    {"rates", false, {"rates"}},
    {"shopping", false, {"shopping"}},
    {"standins", false, {"standins", "Alpha"}},
    {"strengths", false, {"strengths", "Alpha"}},
    {"schedule", false, {"schedule"}},
    {"salvage", false, {"salvage", "NEW"}},
};

/* ---- a validator ---- */

static bool is_of_type(const struct pm_json_value *value, const char *type)
{
    bool flag;
    double number;
    if (value == NULL)
        return strcmp(type, "null") == 0;
    return (strcmp(type, "object") == 0 && pm_json_is_object(value)) ||
           (strcmp(type, "array") == 0 && pm_json_is_array(value)) ||
           (strcmp(type, "string") == 0 && pm_json_text_of(value) != NULL) ||
           (strcmp(type, "boolean") == 0 && pm_json_bool_of(value, &flag)) ||
           (strcmp(type, "number") == 0 && pm_json_double_of(value, &number));
}

static void check_type(const struct pm_json_value *schema, const struct pm_json_value *value,
                       const char *path)
{
    const struct pm_json_value *type = pm_json_member(schema, "type");
    const struct pm_json_value *words = pm_json_member(schema, "enum");
    bool fits =
        type == NULL || (pm_json_text_of(type) != NULL && is_of_type(value, pm_json_text_of(type)));
    for (size_t i = 0; !fits && i < pm_json_count(type); i++)
        fits = is_of_type(value, pm_json_text_of(pm_json_item(type, i)));
    if (!fits)
        fail_msg("%s is of another type than the schema says", path);
    bool one = words == NULL;
    for (size_t i = 0; !one && i < pm_json_count(words); i++)
        one = pm_json_text_of(value) != NULL &&
              strcmp(pm_json_text_of(value), pm_json_text_of(pm_json_item(words, i))) == 0;
    if (!one)
        fail_msg("%s is none of the words of the schema", path);
}

/* NULL stands for null: pm_json_member does not tell the two apart. */
static bool has(const struct pm_json_value *object, const char *wanted)
{
    void *at = NULL;
    const char *key;
    const struct pm_json_value *member;
    while (pm_json_next(object, &at, &key, &member))
        if (strcmp(key, wanted) == 0)
            return true;
    return false;
}

static void check(const struct pm_json_value *schema, const struct pm_json_value *value,
                  const char *path)
{
    const struct pm_json_value *properties = pm_json_member(schema, "properties");
    const struct pm_json_value *required = pm_json_member(schema, "required");
    const struct pm_json_value *items = pm_json_member(schema, "items");
    void *at = NULL;
    const char *key;
    const struct pm_json_value *member;
    char below[300];
    check_type(schema, value, path);
    for (size_t i = 0; pm_json_is_object(value) && i < pm_json_count(required); i++)
        if (!has(value, pm_json_text_of(pm_json_item(required, i))))
            fail_msg("%s lacks %s", path, pm_json_text_of(pm_json_item(required, i)));
    while (pm_json_is_object(value) && pm_json_next(value, &at, &key, &member)) {
        const struct pm_json_value *of = pm_json_member(properties, key);
        snprintf(below, sizeof below, "%s.%s", path, key);
        if (properties != NULL && of == NULL)
            fail_msg("%s is not in the schema", below);
        check(of != NULL ? of : pm_json_member(schema, "additionalProperties"),
              pm_json_member(value, key), below);
    }
    for (size_t i = 0; items != NULL && i < pm_json_count(value); i++) {
        snprintf(below, sizeof below, "%s[%zu]", path, i);
        check(items, pm_json_item(value, i), below);
    }
}

static struct pm_json_value *read_json(const char *text, size_t length, const char *what)
{
    struct pm_json_value *value = NULL;
    struct pm_error err;
    if (pm_json_read(text, length, &value, &err) != PM_OK)
        fail_msg("%s: %s", what, err.text);
    return value;
}

static struct pm_json_value *load_schema(const char *name)
{
    char path[200], block[4096];
    struct pm_text text = PM_TEXT_EMPTY;
    size_t got;
    snprintf(path, sizeof path, "schema/json/%s.schema.json", name);
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        fail_msg("%s is not there", path);
    while ((got = fread(block, 1, sizeof block, file)) > 0)
        pm_text_add_bytes(&text, block, got);
    fclose(file);
    struct pm_json_value *schema = read_json(pm_text_get(&text), text.length, path);
    pm_text_release(&text);
    return schema;
}

/* ---- the tests ---- */

/* Some of it is here, some differs, some is new. */
static struct program another_library(const struct program *p)
{
    struct program other = *p;
    other.out = other.err = NULL;
    other.library = program_path(p, "other.db");
    program_fill_shelf(&other);
    program_does(&other, WORDS("material", "edit", "Beta", "--family", "woody"));
    program_does(&other, WORDS("new", "Heart"));
    program_does(&other, WORDS("add", "Heart", "Alpha", "1"));
    program_does(&other, WORDS("bottle", "add", "Alpha", "3g"));
    return other;
}

static void write_file(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

static void answers_are_as_their_schemas_say(void **state)
{
    struct program *p = *state;
    char *path = program_path(p, "quay.txt");
    struct program other = another_library(p);
    char *fresh = program_path(p, "fresh.db");
    char *shelf = program_path(p, "shelf.csv");
    write_file(path, "Quay\nAlpha 60%\nBeta 10% in Carrier 30%\nWet rope 1,000\n");
    write_file(shelf, "name,family\nAlpha,wood\nMoss,\n");
    for (size_t i = 0; i < sizeof story / sizeof story[0]; i++)
        program_does(p, story[i]);
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        const char *words[WORDS_MOST];
        memcpy(words, asked[i].words, sizeof words);
        for (size_t w = 0; w < WORDS_MOST && words[w] != NULL; w++)
            words[w] = strcmp(words[w], "FILE") == 0    ? path
                       : strcmp(words[w], "TABLE") == 0 ? shelf
                       : strcmp(words[w], "OTHER") == 0 ? other.library
                       : strcmp(words[w], "NEW") == 0   ? fresh
                                                        : words[w];
        if (asked[i].plain)
            program_does(p, words);
        else
            program_asks(p, words);
        struct pm_json_value *schema = load_schema(asked[i].schema);
        struct pm_json_value *answer = read_json(p->out, p->out_length, asked[i].schema);
        check(schema, answer, asked[i].schema);
        pm_json_free(answer);
        pm_json_free(schema);
    }
    free(path);
    free(shelf);
    pm_free(other.out);
    pm_free(other.err);
    free(other.library);
    free(fresh);
}

static void every_schema_has_its_command(void **state)
{
    DIR *folder = opendir("schema/json");
    (void)state;
    assert_non_null(folder);
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        const char *end = strstr(entry->d_name, ".schema.json");
        bool found = end == NULL;
        for (size_t i = 0; !found && i < sizeof asked / sizeof asked[0]; i++)
            found = strlen(asked[i].schema) == (size_t)(end - entry->d_name) &&
                    strncmp(asked[i].schema, entry->d_name, strlen(asked[i].schema)) == 0;
        if (!found)
            fail_msg("%s is not checked", entry->d_name);
    }
    closedir(folder);
}

/* Whatever answers with --json and changes nothing. */
static void every_reading_command_has_its_schema(void **state)
{
    (void)state;
    for (size_t n = 0; pm_cli_command_at(&pm_cli_all_topics, n) != NULL; n++) {
        const struct pm_cli_command *command = pm_cli_command_at(&pm_cli_all_topics, n);
        bool found = (command->forms & PM_CLI_JSON) == 0 || command->changes;
        for (size_t i = 0; !found && i < sizeof asked / sizeof asked[0]; i++) {
            char words[80];
            snprintf(words, sizeof words, "%s %s", asked[i].words[0],
                     asked[i].words[1] != NULL ? asked[i].words[1] : "");
            const size_t length = strlen(command->name);
            found = strncmp(words, command->name, length) == 0 && words[length] == ' ';
            found = found || strcmp(words, command->name) == 0;
        }
        if (!found)
            fail_msg("%s has no schema", command->name);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(answers_are_as_their_schemas_say, program_set_up,
                                        program_tear_down),
        cmocka_unit_test(every_schema_has_its_command),
        cmocka_unit_test(every_reading_command_has_its_schema),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
