/* SPDX-License-Identifier: MIT */
/*
 * The screens in README.md are what the program shows. Before each stands a comment that tells how
 * it comes about on the demo library:
 *
 *     <!-- screen 80x24: T Down Space -->
 *
 * the size, then names of keys ("Enter", "Ctrl-Z") and, in quotation marks, what is typed, or after
 * the word paste what is pasted ("\\n" is a line end). With
 * PERMILLE_README=write (make readme) the screens are written anew.
 */
#include "harness.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/studio/studio.h"
#include "src/tui/rooms.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The demo's story has ended by then, and what is running is due. */
#define SHOWN_AT INT64_C(1789732800) /* 2026-09-18 12:00 UTC */

static int64_t shown_now(void *context)
{
    (void)context;
    return SHOWN_AT;
}

#define LIBRARY "\"$HOME/demo.db\""
#define COPY    "\"$HOME/shown.db\""

static void run(const char *command)
{
    assert_int_equal(system(command), 0);
}

static void make_demo_library(void)
{
    run("\"${PERMILLE_PROGRAM%/*}/make-demo\" demo-db " LIBRARY " > /dev/null 2>&1");
}

static void paste(struct play *play, const char *text)
{
    struct pm_text lines = PM_TEXT_EMPTY;
    for (; *text; text++) {
        bool end = text[0] == '\\' && text[1] == 'n';
        pm_text_add_char(&lines, end ? '\n' : *text);
        text += end;
    }
    play_paste(play, pm_text_get(&lines));
    pm_text_release(&lines);
}

/* Plays key names and quoted texts, separated by blanks. */
static void play_script(struct play *play, const char *script)
{
    bool pasted = false;
    while (*script) {
        char piece[400];
        size_t length;
        bool quoted = *script == '"';
        script += quoted;
        length = strcspn(script, quoted ? "\"" : " ");
        assert_true(length < sizeof piece);
        memcpy(piece, script, length);
        piece[length] = '\0';
        script += length + (quoted && script[length] == '"');
        script += strspn(script, " ");
        if (quoted && pasted)
            paste(play, piece);
        else if (quoted)
            play_type(play, piece);
        pasted = !quoted && strcmp(piece, "paste") == 0;
        if (!quoted && !pasted && length > 0)
            play_keys(play, piece);
    }
}

/* The screen that a comment's text describes, row by row, without blank rows at its end. */
static void show(const char *comment, struct pm_text *out)
{
    char path[PATH_MAX];
    const struct pm_clock clock = {.now = shown_now};
    const struct pm_studio_options options = {.clock = &clock};
    struct pm_studio *studio = NULL;
    struct pm_error err = {0};
    struct play play;
    int columns, rows, at = 0;
    if (sscanf(comment, "%dx%d:%n", &columns, &rows, &at) != 2 || at == 0)
        fail_msg("README.md: \"screen %s\" has no size", comment);
    run("cp " LIBRARY " " COPY);
    snprintf(path, sizeof path, "%s/shown.db", getenv("HOME"));
    if (pm_studio_open(path, &options, &studio, &err) != PM_OK)
        fail_msg("%s", err.text);
    struct pm_house house = {.studio = studio, .sign = '.', .utf8 = true};
    struct pm_app_spec spec = pm_rooms_spec();
    pm_house_read_settings(&house);
    spec.host = &house;
    play_start(&play, spec, rows, columns);
    play.now = SHOWN_AT;
    play_keys(&play, "Ctrl-L");
    play_script(&play, comment + at + strspn(comment + at, " "));
    for (int row = 0, blank = 0; row < rows; row++) {
        const char *text = play_row(&play, row);
        blank = *text ? blank : blank + 1;
        for (; *text && blank > 0; blank--)
            pm_text_add(out, "\n");
        if (*text)
            pm_text_addf(out, "%s\n", text);
    }
    play_end(&play);
    pm_studio_close(studio);
}

static char *read_all(const char *name)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char piece[4096];
    FILE *file = fopen(name, "r");
    assert_non_null(file);
    for (size_t bytes; (bytes = fread(piece, 1, sizeof piece, file)) > 0;)
        pm_text_add_bytes(&text, piece, bytes);
    fclose(file);
    return pm_text_take(&text);
}

/* README.md with every screen as the program shows it, each on a fresh copy of the library: what
 * one tries out another does not see. */
static void renew(const char *readme, struct pm_text *out, size_t *screens)
{
    static const char mark[] = "<!-- screen ", fence[] = "```\n";
    for (*screens = 0;; ++*screens) {
        const char *comment = strstr(readme, mark);
        const char *end = comment != NULL ? strstr(comment, " -->") : NULL;
        const char *from = end != NULL ? strstr(end, fence) : NULL;
        const char *to = from != NULL ? strstr(from + strlen(fence), fence) : NULL;
        if (to == NULL)
            break;
        const char *told = comment + strlen(mark);
        char *script = pm_strndup(told, (size_t)(end - told));
        pm_text_add_bytes(out, readme, (size_t)(from - readme) + strlen(fence));
        show(script, out);
        readme = to;
        pm_free(script);
    }
    pm_text_add(out, readme);
}

static void readme_shows_the_program(void **state)
{
    (void)state;
    const char *wish = getenv("PERMILLE_README");
    struct pm_text renewed = PM_TEXT_EMPTY;
    size_t screens;
    char *readme = read_all("README.md");
    make_demo_library();
    renew(readme, &renewed, &screens);
    assert_true(pm_text_ok(&renewed));
    assert_true(screens > 0);
    if (wish != NULL && strcmp(wish, "write") == 0) {
        FILE *file = fopen("README.md", "w");
        assert_non_null(file);
        assert_int_equal(fwrite(renewed.data, 1, renewed.length, file), renewed.length);
        assert_int_equal(fclose(file), 0);
    } else if (strcmp(readme, pm_text_get(&renewed)) != 0) {
        fail_msg("README.md shows other screens than the program; \"make readme\" writes them:\n%s",
                 pm_text_get(&renewed));
    }
    pm_text_release(&renewed);
    pm_free(readme);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(readme_shows_the_program)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
