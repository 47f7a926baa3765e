/* SPDX-License-Identifier: MIT */
/* The frame of the command line, over a table of commands of the test's own: reading words and
 * options, suggestions, exit statuses, what reaches which stream, help and completion. */
#include "src/cli/cli.h"
#include "src/cli/help.h"

#include "permille/base/mem.h"
#include "permille/studio/studio.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

/* ---- commands of the test's own, in the place of src/cli/topics.c ---- */

/* Answers with everything it was given: "[word][word] name=value switch". */
static enum pm_status run_echo(struct pm_cli *cli, struct pm_error *err)
{
    (void)err;
    for (size_t i = 0; i < cli->operand_count; i++)
        pm_text_addf(&cli->out, "[%s]", cli->operands[i]);
    for (size_t i = 0; i < cli->given_count; i++) {
        const struct pm_cli_given *given = &cli->given[i];
        pm_text_addf(&cli->out, " %s%s%s", given->option->name, given->value != NULL ? "=" : "",
                     given->value != NULL ? given->value : "");
    }
    return PM_OK;
}

static enum pm_status run_refused(struct pm_cli *cli, struct pm_error *err)
{
    pm_text_add(&cli->out, "half an answer");
    if (cli->operand_count > 0)
        return pm_cli_usage(cli, err, "Not '%s'.", cli->operands[0]);
    return pm_fail(err, PM_REFUSED, "Held lines leave only 12.5 parts.");
}

static enum pm_status run_due(struct pm_cli *cli, struct pm_error *err)
{
    (void)err;
    pm_text_add(&cli->out, "nothing\n");
    pm_cli_say(cli, "a remark\x1b[2J");
    cli->outcome = 1;
    return PM_OK;
}

static const struct pm_cli_option set_options[] = {
    {.name = "mode", .value = "MODE", .words = "share|carrier|open", .help = "how it gives way"},
    {.name = "note", .value = "TEXT", .help = "the person's own words"},
    {.name = "synonym", .value = "S", .help = "another name", .many = true},
    {.name = "flat", .help = "accords resolved"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    {.name = "set",
     .operands = "F LINE PARTS",
     .least = 1,
     .most = 3,
     .forms = PM_CLI_JSON,
     .help = "set a line",
     .more = "The others give way.",
     .options = set_options,
     .run = run_echo},
    {.name = "refused",
     .operands = "",
     .least = 0,
     .most = 1,
     .help = "refuse",
     .run = run_refused},
    {.name = "due", .operands = "", .least = 0, .most = 0, .help = "nothing due", .run = run_due},
    {.name = "material add",
     .operands = "NAME",
     .least = 1,
     .most = 1,
     .help = "a new material, it's yours",
     .options = set_options,
     .run = run_echo},
    {.name = "material list",
     .operands = "",
     .least = 0,
     .most = 0,
     .forms = PM_CLI_JSON | PM_CLI_CSV,
     .help = "the materials",
     .run = run_echo},
};
static const struct pm_cli_topic topic = {"Trying", commands, sizeof commands / sizeof commands[0]};
static const struct pm_cli_topic *const list[] = {&topic, &pm_cli_topic_help};
static const struct pm_cli_topics topics = {list, 2};

/* ---- running one command line ---- */

struct ran {
    int status;
    char *out, *err;
};

static int open_editor(void *context, struct pm_studio *studio, bool linear)
{
    *(bool *)context = pm_studio_read_only(studio);
    pm_studio_close(studio);
    return linear ? 43 : 42;
}

static enum pm_status no_terminal(void *context, struct pm_error *err)
{
    (void)context;
    return pm_fail(err, PM_REFUSED, "No terminal.");
}

static struct ran run_with(struct pm_cli_front *front, const char *const *words)
{
    struct ran ran = {0};
    const char *argv[16] = {"permille"};
    size_t out_size, err_size;
    int argc = 1;

    for (; words[argc - 1] != NULL; argc++)
        argv[argc] = words[argc - 1];
    front->topics = &topics;
    front->out = open_memstream(&ran.out, &out_size);
    front->err = open_memstream(&ran.err, &err_size);
    ran.status = pm_cli_run(front, argc, argv);
    fclose(front->out);
    fclose(front->err);
    return ran;
}

static struct ran run(const char *const *words)
{
    struct pm_cli_front front = {0};
    return run_with(&front, words);
}

static void release(struct ran *ran)
{
    free(ran->out);
    free(ran->err);
}

#define WORDS(...) ((const char *const[]){__VA_ARGS__, NULL})

static void answers(const char *const *words, const char *expected)
{
    struct ran ran = run(words);
    assert_string_equal(ran.err, "");
    assert_string_equal(ran.out, expected);
    assert_int_equal(ran.status, 0);
    release(&ran);
}

/* Wrong usage: exit 2, nothing answered, and the sentence holds `expected`. */
static void misused(const char *const *words, const char *expected)
{
    struct ran ran = run(words);
    assert_int_equal(ran.status, 2);
    assert_string_equal(ran.out, "");
    if (strstr(ran.err, expected) == NULL)
        fail_msg("\"%s\" does not hold \"%s\"", ran.err, expected);
    assert_non_null(strstr(ran.err, "permille help"));
    release(&ran);
}

/* ---- reading ---- */

static void options_stand_anywhere(void **state)
{
    (void)state;
    answers(WORDS("set", "F", "Lime", "12"), "[F][Lime][12]\n");
    answers(WORDS("--json", "set", "F", "--mode", "open", "Lime", "--flat", "12"),
            "[F][Lime][12] json mode=open flat\n");
    answers(WORDS("set", "--note=a b", "F"), "[F] note=a b\n");
    answers(WORDS("--note", "set", "set", "F"), "[F] note=set\n");
    answers(WORDS("--note=", "set", "F"), "[F] note=\n");
    answers(WORDS("material", "--flat", "add", "Lime"), "[Lime] flat\n");
    answers(WORDS("material", "add", "Lime", "--synonym", "a", "--synonym=b"),
            "[Lime] synonym=a synonym=b\n");
    answers(WORDS("set", "F", "--note", "--flat"), "[F] note=--flat\n");
}

static void operands_may_begin_with_a_dash(void **state)
{
    (void)state;
    answers(WORDS("set", "F", "Lime", "-5"), "[F][Lime][-5]\n");
    answers(WORDS("set", "F", "-.5", "-,5"), "[F][-.5][-,5]\n");
    answers(WORDS("set", "-", "F"), "[-][F]\n");
    answers(WORDS("set", "--flat", "--", "--mode", "-x"), "[--mode][-x] flat\n");
    answers(WORDS("--", "set", "--flat"), "[--flat]\n");
}

static void wrong_usage_is_two(void **state)
{
    (void)state;
    misused(WORDS("sett", "F"), "did you mean 'set'?");
    misused(WORDS("ste", "F"), "did you mean 'set'?");
    misused(WORDS("zzzzzz"), "There is no command 'zzzzzz'.");
    misused(WORDS("materail", "add"), "did you mean 'material'?");
    misused(WORDS("material", "ad", "Lime"), "did you mean 'material add'?");
    misused(WORDS("material"), "needs a second word");
    misused(WORDS("material", "zzzzzz"), "permille help material");
    misused(WORDS("set", "F", "--mod", "open"), "did you mean '--mode'?");
    misused(WORDS("set", "F", "--jsno"), "did you mean '--json'?");
    misused(WORDS("set", "F", "-x"), "'set' has no option '-x'");
    misused(WORDS("due", "--flat"), "'due' has no option '--flat'");
    misused(WORDS("--flat"), "There is no option '--flat'.");
    misused(WORDS("set", "F", "--note"), "--note TEXT");
    misused(WORDS("set", "F", "--flat=yes"), "takes no value");
    misused(WORDS("set", "F", "--mode", "shore"), "share|carrier|open");
    misused(WORDS("set", "F", "--mode", "open|share"), "share|carrier|open");
    misused(WORDS("set", "F", "--note", "a", "--note", "b"), "stands twice");
    misused(WORDS("set"), "set F LINE PARTS");
    misused(WORDS("set", "a", "b", "c", "d"), "'d' is too much");
    misused(WORDS("set", "F", "--csv"), "has no CSV form");
    misused(WORDS("due", "--json"), "has no JSON form");
    misused(WORDS("material", "list", "--json", "--csv"), "not both");
    misused(WORDS("refused", "this"), "Not 'this'.");
    misused(WORDS("--json"), "need a command");
    misused(WORDS(""), "There is no command ''.");
    misused(WORDS("set", "F", "--\xff\xfe"), "has no option");
}

static void refusal_leaves_no_half_answer(void **state)
{
    struct ran ran = run(WORDS("refused"));
    (void)state;
    assert_int_equal(ran.status, 1);
    assert_string_equal(ran.out, "");
    assert_string_equal(ran.err, "permille: Held lines leave only 12.5 parts.\n");
    release(&ran);
}

static void outcome_and_remarks(void **state)
{
    struct ran ran = run(WORDS("due"));
    (void)state;
    assert_int_equal(ran.status, 1);
    assert_string_equal(ran.out, "nothing\n");
    assert_string_equal(ran.err, "a remark\xEF\xBF\xBD[2J\n"); /* never steers the terminal */
    release(&ran);
}

static void unwritable_answer_is_told(void **state)
{
    char *err = NULL;
    size_t size;
    struct pm_cli_front front = {
        .topics = &topics, .out = fopen("/dev/full", "w"), .err = open_memstream(&err, &size)};
    const char *const argv[] = {"permille", "set", "F", NULL};

    (void)state;
    assert_int_equal(pm_cli_run(&front, 3, argv), 1);
    fclose(front.err);
    fclose(front.out);
    assert_non_null(strstr(err, "could not be written"));
    free(err);
}

static void no_command_opens_the_editor(void **state)
{
    bool read_only = true;
    char path[200];
    struct pm_cli_front front = {
        .context = &read_only, .terminal = no_terminal, .editor = open_editor};

    (void)state;
    snprintf(path, sizeof path, "%s/a b.db", getenv("TMPDIR"));
    struct ran ran = run_with(&front, WORDS("--db", path));
    assert_int_equal(ran.status, 2);
    assert_string_equal(ran.err, "permille: No terminal.\n");
    assert_int_not_equal(access(path, F_OK), 0);
    release(&ran);

    front.terminal = NULL;
    ran = run_with(&front, WORDS("--db", path));
    assert_int_equal(ran.status, 42);
    assert_false(read_only);
    assert_int_equal(access(path, F_OK), 0);
    release(&ran);

    ran = run(WORDS("--db", ""));
    assert_int_equal(ran.status, 2);
    release(&ran);
}

/* Every request for memory fails once: a sentence, a status, no leak, no crash. */
static void lost_memory_is_an_ordinary_error(void **state)
{
    (void)state;
    for (long n = 1; n < 100; n++) {
        pm_mem_fail_at(n, true);
        struct ran ran = run(WORDS("set", "F", "--note=x"));
        const long requests = pm_mem_fail_at(0, false);
        if (requests < n) {
            assert_string_equal(ran.out, "[F] note=x\n");
            release(&ran);
            return;
        }
        assert_int_equal(ran.status, 1);
        assert_string_equal(ran.out, "");
        release(&ran);
    }
    fail_msg("it never succeeded");
}

/* ---- help and completion ---- */

static void help_comes_from_the_table(void **state)
{
    (void)state;
    struct ran all = run(WORDS("help"));
    assert_int_equal(all.status, 0);
    for (size_t i = 0; i < topic.count; i++) {
        assert_non_null(strstr(all.out, commands[i].name));
        assert_non_null(strstr(all.out, commands[i].help));
    }
    struct ran same = run(WORDS("--help"));
    assert_string_equal(same.out, all.out);
    release(&same);
    release(&all);

    answers(WORDS("help", "set"),
            "usage: permille set F LINE PARTS [--mode share|carrier|open] [--note TEXT]\n"
            "                [--synonym S]... [--flat] [--json]\n"
            "\n"
            "set a line\n"
            "\n"
            "The others give way.\n"
            "\n"
            "  --mode share|carrier|open   how it gives way\n"
            "  --note TEXT                 the person's own words\n"
            "  --synonym S                 another name\n"
            "  --flat                      accords resolved\n");
    struct ran pair = run(WORDS("material", "add", "--help"));
    assert_memory_equal(pair.out, "usage: permille material add NAME", 33);
    release(&pair);
    answers(WORDS("help", "material"), "  material add NAME           a new material, it's yours\n"
                                       "  material list               the materials\n");
    misused(WORDS("help", "sat"), "did you mean 'set'?");
    misused(WORDS("help", "set", "--man"), "One thing at a time");
}

/* No line of a manual page may begin with a request the man macros do not know. */
static void manual_is_well_formed(void **state)
{
    static const char *const known[] = {"TH", "SH", "SS", "TP", "IP", "PP", "RS", "RE", "br"};
    struct pm_text page = PM_TEXT_EMPTY;

    (void)state;
    pm_help_manual(&page, &topics,
                   "Lines\ttuck-in\ta, Ins\ttuck in\t.A line that starts with a dot.\n"
                   "Lines\tdrop\t\tdrop\tTakes it away \\ for good.\n");
    for (const char *line = pm_text_get(&page); *line != '\0'; line += strcspn(line, "\n") + 1) {
        assert_int_not_equal(*line, '\'');
        if (*line != '.')
            continue;
        bool is_known = false;
        for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
            is_known = is_known || memcmp(line + 1, known[i], 2) == 0;
        assert_true(is_known);
    }
    assert_non_null(strstr(pm_text_get(&page),
                           ".SS Lines\n.TP\n\\fBa, Ins\\fR  tuck in [tuck\\-in]\n"
                           "\\&.A line that starts with a dot.\n"));
    assert_non_null(strstr(pm_text_get(&page), "Takes it away \\e for good."));
    assert_non_null(strstr(pm_text_get(&page), "material list [\\-\\-json | \\-\\-csv]"));
    pm_text_release(&page);
}

static void each_shell_has_its_script(void **state)
{
    static const char *const shells[][2] = {
        {"bash", "complete -F _permille permille\n"},
        {"zsh", "#compdef permille\n"},
        {"fish", "complete -c permille -f -a '(__permille_complete)'\n"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof shells / sizeof *shells; i++) {
        struct ran ran = run(WORDS("help", "--completion", shells[i][0]));
        assert_int_equal(ran.status, 0);
        assert_non_null(strstr(ran.out, shells[i][1]));
        release(&ran);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(options_stand_anywhere),
        cmocka_unit_test(operands_may_begin_with_a_dash),
        cmocka_unit_test(wrong_usage_is_two),
        cmocka_unit_test(refusal_leaves_no_half_answer),
        cmocka_unit_test(outcome_and_remarks),
        cmocka_unit_test(unwritable_answer_is_told),
        cmocka_unit_test(no_command_opens_the_editor),
        cmocka_unit_test(lost_memory_is_an_ordinary_error),
        cmocka_unit_test(help_comes_from_the_table),
        cmocka_unit_test(manual_is_well_formed),
        cmocka_unit_test(each_shell_has_its_script),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
