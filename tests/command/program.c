/* SPDX-License-Identifier: MIT */
/* Running the real program (program.h). */
#include "program.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <linux/securebits.h>

#include <cmocka.h>

#define WORDS_MOST 1100

/* ---- the folder ---- */

char *program_path(const struct program *program, const char *name)
{
    struct pm_text path = PM_TEXT_EMPTY;
    pm_text_addf(&path, "%s/%s", program->folder, name);
    return pm_text_take(&path);
}

int program_set_up(void **state)
{
    struct program *program = pm_alloc_array(1, sizeof *program);
    struct pm_text folder = PM_TEXT_EMPTY;
    const char *place = getenv("TMPDIR");

    assert_non_null(program);
    pm_text_addf(&folder, "%s/program.XXXXXX", place != NULL ? place : "/tmp");
    program->folder = pm_text_take(&folder);
    assert_non_null(mkdtemp(program->folder));
    program->library = program_path(program, "library.db");
    assert_int_equal(sqlite3_open(":memory:", &program->reader), SQLITE_OK);
    *state = program;
    return 0;
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *place)
{
    (void)about;
    (void)kind;
    (void)place;
    return remove(path);
}

int program_tear_down(void **state)
{
    struct program *program = *state;

    sqlite3_close(program->reader);
    nftw(program->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    pm_free(program->folder);
    pm_free(program->library);
    pm_free(program->out);
    pm_free(program->err);
    pm_free(program);
    return 0;
}

/* ---- files ---- */

/* The whole file, freed by the caller; NULL when there is none. */
static char *slurp(const char *path, size_t *length)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char block[4096];
    size_t got;

    *length = 0;
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return NULL;
    while ((got = fread(block, 1, sizeof block, file)) > 0)
        pm_text_add_bytes(&text, block, got);
    fclose(file);
    *length = text.length;
    return pm_text_take(&text);
}

/* ---- running ---- */

static void redirect(const char *path, int to)
{
    const int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (file < 0 || dup2(file, to) < 0)
        _exit(120);
    close(file);
}

static void become(const struct program *program, enum program_output output, const char *out,
                   const char *err, const char *const *words)
{
    const char *path = getenv("PERMILLE_PROGRAM");
    char *argv[WORDS_MOST + 4] = {NULL};
    int argc = 0;

    argv[argc++] = pm_strdup("permille");
    argv[argc++] = pm_strdup("--db");
    argv[argc++] = pm_strdup(program->library);
    for (size_t i = 0; words[i] != NULL && i < WORDS_MOST; i++)
        argv[argc++] = pm_strdup(words[i]);
    redirect(err, STDERR_FILENO);
    if (program->permissions_hold && geteuid() == 0 &&
        prctl(PR_SET_SECUREBITS, SECBIT_NOROOT, 0, 0, 0) != 0)
        _exit(PROGRAM_STAYS_ROOT);
    if (output == PROGRAM_OUTPUT_CLOSED)
        close(STDOUT_FILENO);
    else
        redirect(output == PROGRAM_OUTPUT_FULL ? "/dev/full" : out, STDOUT_FILENO);
    setenv("TZ", "UTC", 1);
    execv(path != NULL ? path : "build/permille", argv);
    _exit(121);
}

void program_run_into(struct program *program, enum program_output output, const char *const *words)
{
    char *out = program_path(program, "out"), *err = program_path(program, "err");
    size_t length;
    int status;

    unlink(out);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0)
        become(program, output, out, err, words);
    while (waitpid(child, &status, 0) < 0)
        assert_int_equal(errno, EINTR);
    pm_free(program->out);
    pm_free(program->err);
    program->out = slurp(out, &program->out_length);
    program->err = slurp(err, &length);
    pm_free(out);
    pm_free(err);
    if (!WIFEXITED(status))
        fail_msg("killed by signal %d", WTERMSIG(status));
    program->outcome = WEXITSTATUS(status);
}

void program_run(struct program *program, const char *const *words)
{
    program_run_into(program, PROGRAM_OUTPUT_FILE, words);
}

void program_does(struct program *program, const char *const *words)
{
    program_run(program, words);
    if (program->outcome != 0)
        fail_msg("%s %s: ended with %d: %s", words[0], words[1] != NULL ? words[1] : "",
                 program->outcome, program->err);
}

static void fails_with(struct program *program, int outcome, const char *expected,
                       const char *const *words)
{
    size_t before_length, after_length;

    assert_string_not_equal(expected, ""); /* any sentence at all would do */
    char *before = slurp(program->library, &before_length);
    program_run(program, words);
    if (program->outcome != outcome)
        fail_msg("%s %s: ended with %d, not %d: %s", words[0], words[1] != NULL ? words[1] : "",
                 program->outcome, outcome, program->err);
    assert_string_equal(program->out, "");
    assert_int_equal(strncmp(program->err, "permille: ", 10), 0);
    if (strstr(program->err, expected) == NULL)
        fail_msg("\"%s\" does not hold \"%s\"", program->err, expected);
    char *after = slurp(program->library, &after_length);
    assert_int_equal(before_length, after_length);
    if (before != NULL)
        assert_memory_equal(before, after, before_length);
    pm_free(before);
    pm_free(after);
}

void program_refuses(struct program *program, const char *expected, const char *const *words)
{
    fails_with(program, 1, expected, words);
    const char *end = strchr(program->err, '\n');
    assert_non_null(end);
    assert_string_equal(end, "\n"); /* one line */
    assert_true(end[-1] == '.' || end[-1] == '?');
}

void program_misused(struct program *program, const char *expected, const char *const *words)
{
    fails_with(program, 2, expected, words);
    assert_non_null(strstr(program->err, "permille help"));
}

/* ---- JSON ---- */

/* Runs the statement on the answer and a path; the first column as text, or "". */
static const char *ask_reader(struct program *program, const char *sql, const char *path)
{
    static char value[4096]; /* one test at a time */
    sqlite3_stmt *statement;

    value[0] = '\0';
    assert_int_equal(sqlite3_prepare_v2(program->reader, sql, -1, &statement, NULL), SQLITE_OK);
    sqlite3_bind_text(statement, 1, program->out, -1, SQLITE_STATIC);
    sqlite3_bind_text(statement, 2, path, -1, SQLITE_STATIC);
    const int step = sqlite3_step(statement);
    if (step != SQLITE_ROW)
        fail_msg("no JSON (%s): %s", sqlite3_errmsg(program->reader), program->out);
    const unsigned char *text = sqlite3_column_text(statement, 0);
    if (text != NULL)
        snprintf(value, sizeof value, "%s", (const char *)text);
    sqlite3_finalize(statement);
    return value;
}

void program_asks(struct program *program, const char *const *words)
{
    const char *with_json[WORDS_MOST + 2] = {NULL};
    size_t count = 0;

    for (; words[count] != NULL && count < WORDS_MOST; count++)
        with_json[count] = words[count];
    with_json[count] = "--json";
    program_does(program, with_json);
    assert_int_equal(program->out_length, strlen(program->out));
    ask_reader(program, "SELECT json(?1), ?2", "");
}

const char *program_value(struct program *program, const char *path)
{
    return ask_reader(program, "SELECT ?1 -> ?2", path);
}

void program_says(struct program *program, const char *path, const char *expected)
{
    const char *value = program_value(program, path);
    if (strcmp(value, expected) != 0)
        fail_msg("%s is %s, not %s", path, value, expected);
}

int64_t program_number(struct program *program, const char *path, int places)
{
    const char *text = program_value(program, path);
    const bool less = *text == '-';
    int64_t value = 0;
    int decimals = -1;

    for (text += less ? 1 : 0; *text != '\0'; text++) {
        if (*text == '.' && decimals < 0) {
            decimals = 0;
            continue;
        }
        if (*text < '0' || *text > '9')
            fail_msg("%s is no plain number: %s", path, program_value(program, path));
        value = value * 10 + (*text - '0');
        decimals += decimals >= 0 ? 1 : 0;
    }
    decimals = decimals < 0 ? 0 : decimals;
    if (decimals > places)
        fail_msg("%s has more than %d decimals", path, places);
    for (; decimals < places; decimals++)
        value *= 10;
    return less ? -value : value;
}

int64_t program_count(struct program *program, const char *path)
{
    return strtoll(ask_reader(program, "SELECT json_array_length(?1, ?2)", path), NULL, 10);
}

int64_t program_sum(struct program *program, const char *array, const char *key, int places)
{
    const int64_t count = program_count(program, array);
    int64_t sum = 0;

    for (int64_t i = 0; i < count; i++) {
        struct pm_text path = PM_TEXT_EMPTY;
        pm_text_addf(&path, "%s[%lld].%s", array, (long long)i, key);
        sum += program_number(program, pm_text_get(&path), places);
        pm_text_release(&path);
    }
    return sum;
}

/* ---- a shelf ---- */

void program_fill_shelf(struct program *program)
{
    static const char *const names[] = {"Alpha", "Beta", "Gamma", "Delta", "Epsilon"};

    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        program_does(program, WORDS("material", "add", names[i]));
    program_does(program, WORDS("material", "add", "Carrier", "--kind", "solvent"));
    program_does(program, WORDS("material", "add", "Spirit", "--kind", "solvent"));
}
