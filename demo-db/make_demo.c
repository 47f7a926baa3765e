/* SPDX-License-Identifier: MIT */
/*
 * make-demo SOURCES OUT.db: makes the demo library out of the text files in SOURCES (README.md
 * there), through the program's own code. A line that is refused ends it with the file's name, the
 * line and the reason, and leaves no library behind.
 *
 * The clock is the story's and the time zone UTC, so that the same sources give the same library.
 */
#include "shelf.h"
#include "story.h"

#include "src/cli/cli.h"

#include "permille/base/clock.h"
#include "permille/studio/studio.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* The stories told; the others in the folder wait for their commands. */
static const char *const stories[] = {"story.txt", "story-shelf.txt", "story-smell.txt"};

/* When the tables of the shelf are read: after all they tell of. The stories set their own clock.
 */
#define SHELF_TIME "2026-10-11 12:00"

struct maker {
    const char *sources; /* folder; borrowed */
    struct pm_studio *studio;
    struct pm_clock clock;
    int64_t now;
    FILE *nowhere; /* takes what the commands answer */
};

static int64_t tell_time(void *context)
{
    const struct maker *maker = context;
    return maker->now;
}

/* Runs one line as the program would; what the command says on standard error becomes the
 * sentence, after the file's name and the line. */
static enum pm_status tell_line(struct maker *maker, const struct story_line *line,
                                struct pm_error *err)
{
    struct pm_error why;
    struct story_words words;
    char *said = NULL;
    size_t length;

    const enum pm_status status = story_split(line->text, &words, &why);
    if (status != PM_OK)
        return pm_fail(err, status, "%s:%zu: %s", line->file, line->number, why.text);
    FILE *saying = open_memstream(&said, &length);
    if (saying == NULL) {
        story_words_release(&words);
        return pm_fail_memory(err);
    }
    maker->now = line->at;
    const struct pm_cli_front front = {.topics = &pm_cli_all_topics,
                                       .out = maker->nowhere,
                                       .err = saying,
                                       .clock = &maker->clock,
                                       .studio = maker->studio};
    words.words[0] = "permille";
    const int outcome = pm_cli_run(&front, words.count, words.words);
    fclose(saying);
    story_words_release(&words);
    if (outcome != PM_CLI_DONE)
        pm_fail(err, PM_REFUSED, "%s:%zu: %.*s", line->file, line->number, (int)strcspn(said, "\n"),
                said);
    free(said);
    return outcome == PM_CLI_DONE ? PM_OK : PM_REFUSED;
}

static enum pm_status tell_stories(struct maker *maker, struct pm_error *err)
{
    struct story story = {.lines = NULL};
    enum pm_status status = PM_OK;

    for (size_t i = 0; status == PM_OK && i < sizeof stories / sizeof *stories; i++)
        status = story_read(&story, maker->sources, stories[i], err);
    story_sort(&story);
    for (size_t i = 0; status == PM_OK && i < story.count; i++)
        status = tell_line(maker, &story.lines[i], err);
    story_release(&story);
    return status;
}

static enum pm_status make(struct maker *maker, const char *path, struct pm_error *err)
{
    const struct pm_studio_options options = {.create = true, .clock = &maker->clock};

    enum pm_status status = pm_time_read(SHELF_TIME, &maker->now, err);
    if (status == PM_OK)
        status = pm_studio_open(path, &options, &maker->studio, err);
    if (status != PM_OK)
        return status;
    status = shelf_fill(maker->studio, maker->sources, err);
    if (status == PM_OK)
        status = tell_stories(maker, err);
    pm_studio_close(maker->studio);
    if (status != PM_OK)
        unlink(path);
    return status;
}

int main(int argc, char **argv)
{
    struct maker maker = {.clock = {.now = tell_time, .context = &maker}};
    struct pm_error err;

    if (argc != 3) {
        fprintf(stderr, "usage: make-demo SOURCES OUT.db\n");
        return PM_CLI_USAGE;
    }
    if (access(argv[2], F_OK) == 0) {
        fprintf(stderr, "make-demo: %s is there already.\n", argv[2]);
        return PM_CLI_REFUSED;
    }
    setenv("TZ", "UTC", 1);
    tzset();
    maker.sources = argv[1];
    maker.nowhere = fopen("/dev/null", "w");
    if (maker.nowhere == NULL) {
        fprintf(stderr, "make-demo: /dev/null cannot be opened.\n");
        return PM_CLI_REFUSED;
    }
    pm_error_clear(&err);
    const enum pm_status status = make(&maker, argv[2], &err);
    fclose(maker.nowhere);
    if (status == PM_OK)
        return PM_CLI_DONE;
    fprintf(stderr, "make-demo: %s\n", err.text);
    return PM_CLI_REFUSED;
}
