/* SPDX-License-Identifier: MIT */
/*
 * Completion in the shells themselves, on a pseudo-terminal: a name is typed in part, Tab puts the
 * rest there with the quotes it needs, and what then stands on the line is that name to the
 * program. Bash has to be there; zsh and fish are tried where they are.
 */
#include "bench_world.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Blanks, quotes, a slash, a colon, signs that shells mean something by, letters beyond ASCII.
 * Invented. */
static const struct {
    const char *typed; /* so far */
    const char *name;
    const char *json; /* as the answer writes it */
} names[] = {
    {"Cut", "Cut Hay", "{\"formula\":\"Cut Hay\""},
    {"Gr\xC3\xBC", "Gr\xC3\xBCn & Bl\xC3\xA4ulich",
     "{\"formula\":\"Gr\xC3\xBCn & Bl\xC3\xA4ulich\""},
    {"Ropem", "Ropemaker's \"best\"", "{\"formula\":\"Ropemaker's \\\"best\\\"\""},
    {"Slate/", "Slate", "{\"formula\":\"Slate\",\"trial\":1"}, /* its only kept trial */
    {"Tide:", "Tide: low; $HOME", "{\"formula\":\"Tide: low; $HOME\""},
    {"Wick", "Wick (50 %) *new*", "{\"formula\":\"Wick (50 %) *new*\""},
};

#define NAMES (sizeof names / sizeof *names)

static void write_library(struct hand *hand)
{
    for (size_t i = 0; i < NAMES; i++) {
        const int64_t id = hand_formula(hand, names[i].name, 1000);
        hand_add(hand, id, "Alderwood ketone", 600);
        hand_add(hand, id, "Breeze salicylate", 400);
        if (strcmp(names[i].name, "Slate") == 0)
            hand_keep(hand, id, NULL);
    }
    pm_studio_close(hand->studio);
    hand->studio = NULL;
}

static bool present(const char *shell)
{
    char command[80];
    snprintf(command, sizeof command, "command -v %s > /dev/null 2>&1", shell);
    return system(command) == 0;
}

static struct stage *open_shell(struct hand *hand, char *const argv[])
{
    static char path[PATH_MAX + 200], db[PATH_MAX + 20];
    const char *program = getenv("PERMILLE_PROGRAM");
    assert_non_null(program);
    snprintf(path, sizeof path, "PATH=%.*s:%s", (int)(strrchr(program, '/') - program), program,
             getenv("PATH"));
    snprintf(db, sizeof db, "PERMILLE_DB=%s", hand->path);
    static const char *const settings[] = {
        path, db, "PS1=ready> ", "LC_ALL=C.UTF-8", "fish_greeting=", NULL};
    const struct stage_spec spec = {
        .rows = 24, .columns = 100, .program = argv, .settings = settings};
    return stage_start(&spec);
}

/* Types part of each name and Tab; what stands on the line then shows that formula. */
static void completes_names(struct stage *stage, const char *quote)
{
    for (size_t i = 0; i < NAMES; i++) {
        stage_type(stage, "permille show ");
        stage_type(stage, quote);
        stage_type(stage, names[i].typed);
        stage_keys(stage, "Tab");
        stage_type(stage, " --json | head -c 70");
        stage_keys(stage, "Enter");
        stage_sees(stage, names[i].json);
        stage_type(stage, "clear");
        stage_keys(stage, "Enter");
        stage_misses(stage, names[i].json);
    }
}

/* Words that the program's tables give: the second of a command, a stance, an option. */
static void completes_words(struct stage *stage)
{
    static const char *const lines[][2] = {
        {"echo x; permille material ad", "permille material add"},
        {"permille add Cut\\ Hay ald", "permille add Cut\\ Hay Alderwood\\ ketone"},
        {"permille set Cut\\ Hay br", "permille set Cut\\ Hay Breeze\\ salicylate"},
        {"permille stance Cut\\ Hay Breeze\\ salicylate car", "salicylate carrier"},
        {"permille mode Cut\\ Hay sh", "permille mode Cut\\ Hay share"},
        {"permille new X --bas", "permille new X --base"},
    };
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        stage_type(stage, lines[i][0]);
        stage_keys(stage, "Tab");
        stage_sees(stage, lines[i][1]);
        stage_keys(stage, "Ctrl-U");
        stage_misses(stage, lines[i][1]);
    }
}

static void end_shell(struct stage *stage)
{
    stage_type(stage, "exit");
    stage_keys(stage, "Enter");
    stage_status(stage);
    stage_end(stage);
}

static void in_bash(void **state)
{
    static char env[] = "/usr/bin/env", bash[] = "bash", norc[] = "--norc",
                noprofile[] = "--noprofile", i[] = "-i";
    static char *const argv[] = {env, bash, norc, noprofile, i, NULL};
    struct hand *hand = *state;
    write_library(hand);
    struct stage *stage = open_shell(hand, argv);
    stage_sees(stage, "ready>");
    stage_type(stage, "eval \"$(permille help --completion bash)\"; clear");
    stage_keys(stage, "Enter");
    completes_names(stage, "");
    completes_names(stage, "\"");
    completes_words(stage);
    end_shell(stage);
}

static void in_zsh(void **state)
{
    static char env[] = "/usr/bin/env", zsh[] = "zsh", f[] = "-f", i[] = "-i";
    static char *const argv[] = {env, zsh, f, i, NULL};
    struct hand *hand = *state;
    if (!present("zsh")) {
        print_message("zsh is not here\n");
        skip();
    }
    write_library(hand);
    struct stage *stage = open_shell(hand, argv);
    stage_sees(stage, "ready>");
    stage_type(stage, "autoload -Uz compinit; compinit -D -u; "
                      "eval \"$(permille help --completion zsh)\"; clear");
    stage_keys(stage, "Enter");
    completes_names(stage, "");
    completes_names(stage, "\"");
    completes_words(stage);
    end_shell(stage);
}

static void in_fish(void **state)
{
    static char env[] = "/usr/bin/env", fish[] = "fish", no[] = "--no-config", i[] = "-i";
    static char *const argv[] = {env, fish, no, i, NULL};
    struct hand *hand = *state;
    if (!present("fish")) {
        print_message("fish is not here\n");
        skip();
    }
    write_library(hand);
    struct stage *stage = open_shell(hand, argv);
    stage_type(stage, "function fish_prompt; echo 'ready> '; end; "
                      "permille help --completion fish | source; clear");
    stage_keys(stage, "Enter");
    completes_names(stage, "");
    completes_names(stage, "\"");
    completes_words(stage);
    end_shell(stage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(in_bash, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(in_zsh, hand_setup, hand_teardown),
        cmocka_unit_test_setup_teardown(in_fish, hand_setup, hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
