/* SPDX-License-Identifier: MIT */
/*
 * The names of a library, and completing them in bash.
 */
#include "program.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void make_small(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Heart of hay"));
    program_does(p, WORDS("add", "Heart of hay", "Alpha", "600"));
    program_does(p, WORDS("add", "Heart of hay", "Beta", "400"));
    program_does(p, WORDS("keep", "Heart of hay"));
}

static void names_one_a_line(void **state)
{
    struct program *p = *state;
    make_small(p);
    program_does(p, WORDS("names", "trials"));
    assert_string_equal(p->out, "Heart of hay\nHeart of hay/1\n");
    program_does(p, WORDS("names", "lines", "Heart of hay"));
    assert_string_equal(p->out, "Alpha\nBeta\n");
    program_does(p, WORDS("names", "materials", "--begins", "al"));
    assert_string_equal(p->out, "Alpha\n");
    program_misused(p, "Of which formula", WORDS("names", "lines"));
    program_misused(p, "formulas, trials, lines", WORDS("names", "things"));
}

/* The script that the program writes, in a real bash. */
static void bash_offers(struct program *p, const char *words, const char *expected)
{
    char *script = program_path(p, "completion.bash"), line[500] = "";
    program_does(p, WORDS("help", "--completion", "bash"));
    FILE *file = fopen(script, "w");
    assert_non_null(file);
    fputs(p->out, file);
    assert_int_equal(fclose(file), 0);
    char command[2000];
    snprintf(command, sizeof command,
             "bash --norc -c '. %s; COMP_WORDS=(\"$PERMILLE_PROGRAM\" --db %s %s); "
             "COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); _permille_words; echo \"${COMPREPLY[*]}\"'",
             script, p->library, words);
    FILE *bash = popen(command, "r");
    assert_non_null(bash);
    assert_non_null(fgets(line, sizeof line, bash));
    assert_int_equal(pclose(bash), 0);
    free(script);
    assert_string_equal(line, expected);
}

static void bash_completes_names(void **state)
{
    struct program *p = *state;
    make_small(p);
    bash_offers(p, "show he", "Heart\\ of\\ hay Heart\\ of\\ hay/1\n");
    bash_offers(p, "add \"Heart\\ of\\ hay\" gam", "Gamma\n");
    bash_offers(p, "set \"Heart\\ of\\ hay\" b", "Beta\n");
    bash_offers(p, "stance \"Heart\\ of\\ hay\" Beta h", "held\n");
    bash_offers(p, "material show al", "Alpha\n");
    bash_offers(p, "keep", "keep\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(names_one_a_line, program_set_up, program_tear_down),
        cmocka_unit_test_setup_teardown(bash_completes_names, program_set_up, program_tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
