/* SPDX-License-Identifier: MIT */
/*
 * The scale by command: a trial with lines from 0.2 to 400 parts is planned for 10 g on a balance
 * of 0.01 g, diluted first, poured, one pour read from a simulated balance behind a
 * pseudo-terminal, over-poured, saved, corrected, finished, filled. Ledger and record are compared
 * to the microgram. Names, lots and prices are invented.
 */
#include "program.h"

#include "permille/base/mem.h"
#include "permille/studio/scale.h"

#include <fcntl.h>
#include <sched.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <cmocka.h>

static void make_shelf(struct program *p)
{
    program_fill_shelf(p);
    program_does(p, WORDS("new", "Quay"));
    program_does(p, WORDS("add", "Quay", "Alpha", "400"));
    program_does(p, WORDS("add", "Quay", "Beta", "100"));
    program_does(p, WORDS("add", "Quay", "Gamma", "0.2"));
    program_does(p, WORDS("add", "Quay", "Carrier", "499.8"));
    program_does(p, WORDS("keep", "Quay"));
    program_does(p, WORDS("bottle", "add", "Alpha", "50g", "--price", "25 EUR", "--lot", "K7"));
    program_does(p, WORDS("bottle", "add", "Beta", "50g", "--lot", "K8"));
    program_does(p, WORDS("bottle", "add", "Gamma", "5g", "--lot", "K9"));
    program_does(p, WORDS("bottle", "add", "Carrier", "1kg", "--lot", "K10"));
    program_does(p, WORDS("balance", "add", "Kitchen", "0.01g", "--capacity", "200g"));
}

/* As it is written: 2 mg of Gamma in 10 g, whose u is 0.41 steps of 0.01 g. */
static void tells_what_the_balance_does(struct program *p)
{
    program_asks(p, WORDS("weigh", "Quay/1", "--budget"));
    program_says(p, "$.batch_g", "10");
    program_says(p, "$.balance", "\"Kitchen\"");
    program_says(p, "$.minimum_weight_g", "0.41");
    program_says(p, "$.unweighable", "1");
    program_says(p, "$.lines[0].weighable", "true");
    program_says(p, "$.lines[2].weighable", "false");
    program_says(p, "$.lines[2].mass_g", "0.002");
    program_says(p, "$.lines[2].error_percent", "410");
    program_says(p, "$.lines[2].weighable_at_percent", "0.1"); /* 2 g of that */
    program_says(p, "$.least_batch_g", "2050");                /* 0.41 g / 0.02 % */
    program_says(p, "$.uncertainty_g", "0.0082");              /* four weights: twice 4.1 mg */
    assert_true(
        llabs(program_sum(p, "$.lines", "uncertainty_share_percent", 12) - 100000000000000) <= 4);
    /* 1/4.998^2 of 1/4^2 + 1/1^2 + 1/0.002^2 + 1/4.998^2: minute, and not nothing. */
    program_says(p, "$.lines[3].uncertainty_share_percent", "0.000016012737");
    program_asks(p, WORDS("weigh", "Quay/1", "2050g", "--budget"));
    program_says(p, "$.unweighable", "0");
    program_asks(p, WORDS("weigh", "Quay/1", "10g", "--budget", "--readability", "0.00001g"));
    program_says(p, "$.unweighable", "0");
    program_refuses(p, "no mass", WORDS("weigh", "Quay/1", "0g", "--budget"));
    program_does(p, WORDS("weigh", "Quay/1", "10g", "--budget"));
    assert_non_null(strstr(p->out, "too little to weigh, at 0.1 % it can be"));
}

static void make_dilutions(struct program *p)
{
    program_asks(p, WORDS("weigh", "Quay/1", "10g"));
    assert_int_equal(program_count(p, "$.dilutions_to_make"), 3);
    program_says(p, "$.dilutions_to_make[0].from", "\"B003\"");
    program_says(p, "$.dilutions_to_make[2].strength_percent", "0.1");
    assert_int_equal(program_sum(p, "$.lines", "target_g", 6), 10000000);
    program_says(p, "$.minimum_weight_g", "0.41"); /* 2 x 0.41 x 0.01 g / 2 % */
    /* What the display shows has the balance's own digits. */
    program_does(p, WORDS("weigh", "Quay/1", "50g", "--as-it-is"));
    assert_non_null(strstr(p->out, " 0.010000 ")); /* exactly what is asked for */
    assert_non_null(strstr(p->out, " 0.01 "));
    program_does(p, WORDS("dilute", "Gamma", "10%", "4.1g", "--in", "Carrier"));
    program_does(p, WORDS("dilute", "Gamma", "1%", "4.1g", "--from", "B005"));
    program_does(p, WORDS("dilute", "Gamma", "0.1%", "4.1g", "--from", "B006"));
}

/* What the bottles' ledgers say was poured for batch 1, micrograms. */
static int64_t ledger(struct program *p)
{
    static const char *const bottles[] = {"B001", "B002", "B004", "B007"};
    int64_t sum = 0;
    for (size_t i = 0; i < 4; i++) {
        program_asks(p, WORDS("bottle", "show", bottles[i]));
        for (int64_t k = 0; k < program_count(p, "$.movements"); k++) {
            char path[64];
            snprintf(path, sizeof path, "$.movements[%d].kind", (int)k);
            const char *kind = program_value(p, path);
            const bool counts =
                strcmp(kind, "\"poured\"") == 0 || strcmp(kind, "\"corrected\"") == 0;
            snprintf(path, sizeof path, "$.movements[%d].mass_g", (int)k);
            sum -= counts ? program_number(p, path, 6) : 0;
        }
    }
    return sum;
}

static void assert_agree(struct program *p)
{
    const int64_t poured = ledger(p);
    program_asks(p, WORDS("batch", "show", "1"));
    assert_int_equal(program_number(p, "$.poured_g", 6), poured);
    assert_int_equal(program_sum(p, "$.lines", "poured_g", 6), poured);
}

static void from_plan_to_bottles(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_refuses(p, "First make", WORDS("batch", "start", "Quay/1", "10g"));
    tells_what_the_balance_does(p);
    make_dilutions(p);
    program_asks(p, WORDS("weigh", "Quay/1", "10g"));
    assert_int_equal(program_count(p, "$.dilutions_to_make"), 0);
    program_says(p, "$.unweighable", "0");
    program_asks(p, WORDS("batch", "start", "Quay/1", "10g", "--by", "an owner"));
    program_says(p, "$.state", "\"pouring\"");
    program_says(p, "$.lines[0].material", "\"Beta\"");
    program_asks(p, WORDS("batch", "pour", "1", "next", "1.2g"));
    program_says(p, "$.lines[0].over", "true");
    assert_agree(p);

    /* 1 g became 1.2 g: everything times 1.2. */
    program_asks(p, WORDS("batch", "rescue", "1"));
    program_says(p, "$.ways[0].way", "\"restore\"");
    program_says(p, "$.ways[0].total_g", "12");
    program_says(p, "$.ways[0].in_stock", "true");
    /* 0.8 g more of Alpha at 0.50 EUR a gram. */
    program_says(p, "$.ways[0].cost[0].amount", "0.4");
    program_says(p, "$.ways[1].way", "\"accept\"");
    program_says(p, "$.ways[1].total_g", "10.2");
    /* Left as it is, 1.2 g of 10.2 g are 117.647059 parts; Alpha's 4 g are 392.156863. */
    program_says(p, "$.accepted.materials[0].material", "\"Beta\"");
    program_says(p, "$.accepted.materials[0].parts", "117.647059");
    program_says(p, "$.accepted.materials[0].was_parts", "100");
    assert_int_equal(program_sum(p, "$.accepted.materials", "parts", 6), 1000000000);
    program_asks(p, WORDS("batch", "become", "1", "accept"));
    program_says(p, "$.materials[0].parts", "117.647059");
    program_says(p, "$.category", "\"4\"");
    program_says(p, "$.without_rule", "4");
    program_asks(p, WORDS("batch", "become", "1", "restore"));
    program_says(p, "$.materials[0].material", "\"Alpha\""); /* nothing changed: by name */
    program_says(p, "$.materials[0].parts", "400");
    program_does(p, WORDS("batch", "rescue", "1"));
    assert_non_null(strstr(p->out, "Alpha  add 4.80 g\n")); /* in digits of 0.01 g */
    assert_non_null(strstr(p->out, "Beta: 117.65 parts, was 100.00."));
    assert_non_null(strstr(p->out, "Limits at 15 %, category 4"));
    program_asks(p, WORDS("batch", "rescue", "1", "restore"));
    program_says(p, "$.target_g", "12");
    program_says(p, "$.way", "\"restore\"");
    program_refuses(p, "Nothing is over", WORDS("batch", "rescue", "1"));

    program_does(p, WORDS("batch", "pause", "1"));
    program_does(p, WORDS("batch", "pour", "1", "Gamma", "2.4g"));
    program_does(p, WORDS("batch", "pour", "1", "Alpha", "4.7g"));
    program_refuses(p, "still to be poured", WORDS("batch", "finish", "1"));
    program_asks(p, WORDS("batch", "correct", "1", "3", "4.8g", "--note", "misread"));
    assert_agree(p);
    program_refuses(p, "corrected already", WORDS("batch", "correct", "1", "3", "4.9g"));
    program_refuses(p, "B004 holds", WORDS("batch", "pour", "1", "next", "2kg"));
    program_does(p, WORDS("batch", "pour", "1", "next", "3.6g"));
    assert_agree(p);
    program_says(p, "$.poured_g", "12");
    program_asks(p, WORDS("batch", "finish", "1", "--make-bottle", "--make-trial"));
    program_says(p, "$.state", "\"finished\"");
    program_refuses(p, "finished", WORDS("batch", "pour", "1", "1", "1g"));
    program_asks(p, WORDS("show", "Quay/2"));
    program_says(p, "$.lines[0].parts", "100");
    program_asks(p, WORDS("bottle", "show", "B008"));
    program_says(p, "$.material", "\"Quay 1\"");
    program_says(p, "$.left_g", "12");

    /* What is corrected after that is corrected in the bottle it became, too. */
    program_does(p, WORDS("bottle", "pour", "B008", "2g"));
    program_does(p, WORDS("batch", "correct", "1", "5", "3.5g", "--note", "misread again"));
    assert_agree(p);
    program_asks(p, WORDS("bottle", "show", "B008"));
    program_says(p, "$.left_g", "9.9");
    assert_int_equal(program_number(p, "$.movements[2].corrects", 0),
                     program_number(p, "$.movements[0].movement", 0));
    program_says(p, "$.movements[2].mass_g", "-12");
    program_says(p, "$.movements[3].kind", "\"received\"");
    program_says(p, "$.movements[3].mass_g", "11.9");
    program_does(p, WORDS("batch", "correct", "1", "6", "5.6g"));
    program_asks(p, WORDS("bottle", "show", "B008"));
    program_says(p, "$.left_g", "12"); /* 14 g came in, 2 g went out */
    assert_agree(p);

    /* A made-up bottle of that very trial serves for its accord line. */
    program_does(p, WORDS("new", "Harbour"));
    program_does(p, WORDS("add", "Harbour", "Quay/1", "1000", "--accord"));
    program_asks(p, WORDS("weigh", "Harbour", "5g"));
    assert_int_equal(program_count(p, "$.lines"), 1);
    program_says(p, "$.lines[0].bottle", "\"B008\"");
    program_asks(p, WORDS("weigh", "Harbour", "15g")); /* 12 g are there: by its content */
    assert_true(program_count(p, "$.lines") > 1);

    program_asks(p, WORDS("fill", "12g", "20%", "--ethanol", "96%", "--to", "80%", "--density",
                          "0.95", "--bottle-ml", "10", "--loss", "2%"));
    program_says(p, "$.total_g", "60");
    assert_int_equal(program_number(p, "$.ethanol_g", 6) + program_number(p, "$.water_g", 6),
                     48000000);
    program_says(p, "$.bottles", "6");
    program_asks(p, WORDS("filling", "add", "12g", "20%", "--of-batch", "1", "--filter-on",
                          "2027-01-10", "--loss", "0", "--note", "a test fill"));
    program_refuses(p, "above 0", WORDS("fill", "12g", "0"));
    /* Ethanol is of 96 % where none is said: without water all of it is as it is at hand. */
    program_asks(p, WORDS("fill", "12g", "20%"));
    program_says(p, "$.mixture_percent_vol", "96");
    program_refuses(p, "The concentrate's density", WORDS("fill", "12g", "20%", "--density", "x"));
    program_asks(p, WORDS("filling", "list"));
    program_says(p, "$.fillings[0].trial", "\"Quay/1\"");
    program_says(p, "$.fillings[0].filter_on", "\"2027-01-10\"");
    program_says(p, "$.fillings[0].note", "\"a test fill\"");
    program_says(p, "$.fillings[0].filtered_at", "null");
    program_refuses(p, "No day is set", WORDS("filling", "remind", "1", "--ready-on", "none"));
    program_refuses(p, "no filling", WORDS("filling", "done", "7", "filtered"));
    program_misused(p, "filtered, or matured", WORDS("filling", "done", "1", "drunk"));
    program_does(p, WORDS("verify"));
}

/* Which ways come first, and what is said of them: up to five times the batch restoring is worth a
 * thought, where the balance carries it and the shelf holds it; beyond that it comes last. */
static void sensible_ways_first(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_does(p, WORDS("batch", "start", "Quay/1", "20g", "--as-it-is"));
    program_does(p, WORDS("batch", "pour", "1", "Beta", "10g")); /* of 2 g: 100 g in all */
    program_asks(p, WORDS("batch", "rescue", "1"));
    program_says(p, "$.ways[0].way", "\"restore\"");
    program_says(p, "$.ways[0].total_g", "100");
    program_says(p, "$.ways[0].sense", "\"sensible\"");
    program_does(p, WORDS("batch", "pour", "1", "Beta", "0.000002g"));
    program_asks(p, WORDS("batch", "rescue", "1"));
    program_says(p, "$.ways[0].way", "\"accept\"");
    program_says(p, "$.ways[0].sense", "\"sensible\"");
    program_says(p, "$.ways[1].way", "\"restore\"");
    program_says(p, "$.ways[1].sense", "\"absurd\"");
    program_does(p, WORDS("batch", "rescue", "1"));
    assert_non_null(strstr(p->out, "restore: 100.00 g in all, 5.1 times the batch: absurd"));
    assert_true(strstr(p->out, "accept: 28.00 g") < strstr(p->out, "restore: "));

    /* Everything times 2.52: 50.4 g of Alpha, and 50 g are there. */
    program_does(p, WORDS("batch", "start", "Quay/1", "50g", "--as-it-is"));
    program_does(p, WORDS("batch", "pour", "2", "Beta", "12.6g"));
    program_asks(p, WORDS("batch", "rescue", "2"));
    program_says(p, "$.ways[0].way", "\"accept\"");
    program_says(p, "$.ways[1].sense", "\"not in stock\"");
    program_says(p, "$.ways[1].fits", "true");
    program_does(p, WORDS("bottle", "add", "Alpha", "0.399999g")); /* another one is as good */
    program_asks(p, WORDS("batch", "rescue", "2"));
    program_says(p, "$.ways[1].sense", "\"not in stock\"");
    program_does(p, WORDS("bottle", "add", "Alpha", "0.000001g"));
    program_asks(p, WORDS("batch", "rescue", "2"));
    program_says(p, "$.ways[0].way", "\"restore\"");
    program_says(p, "$.ways[0].sense", "\"sensible\"");
    program_does(p, WORDS("batch", "pour", "2", "Beta", "10g"));
    program_asks(p, WORDS("batch", "rescue", "2")); /* 226 g on a balance for 200 g */
    program_says(p, "$.ways[1].sense", "\"too heavy\"");
    program_says(p, "$.ways[1].fits", "false");
}

/* The exit status tells, like a test's. */
static void nothing_due(struct program *p)
{
    program_run(p, WORDS("due"));
    assert_int_equal(p->outcome, 1);
    assert_non_null(strstr(p->err, "Nothing is due."));
}

/* Days that came: due until they are done, or another day is set. */
static void reminds(void **state)
{
    struct program *p = *state;
    program_fill_shelf(p);
    nothing_due(p);
    program_does(p, WORDS("filling", "add", "12g", "20%", "--filter-on", "2020-01-10", "--ready-on",
                          "2020-02-01"));
    program_does(p, WORDS("filling", "add", "10g", "20%", "--filter-on", "2999-01-10"));
    program_asks(p, WORDS("due"));
    assert_int_equal(program_count(p, "$.due"), 2);
    program_says(p, "$.due[0].kind", "\"filter\"");
    program_says(p, "$.due[0].of", "\"filling 1\"");
    program_says(p, "$.due[0].day", "\"2020-01-10\"");
    program_says(p, "$.due[0].command", "\"filling done 1 filtered\"");
    program_says(p, "$.due[1].kind", "\"matured\"");
    program_does(p, WORDS("filling", "done", "1", "filtered", "--note", "clear"));
    program_refuses(p, "been filtered already", WORDS("filling", "done", "1", "filtered"));
    program_asks(p, WORDS("due"));
    assert_int_equal(program_count(p, "$.due"), 1);
    program_does(p, WORDS("filling", "remind", "1", "--ready-on", "2999-03-01", "--filter-on",
                          "2020-01-20")); /* once more */
    program_asks(p, WORDS("due"));
    assert_int_equal(program_count(p, "$.due"), 1);
    program_says(p, "$.due[0].day", "\"2020-01-20\"");
    program_does(p, WORDS("filling", "remind", "1", "--filter-on", "none"));
    nothing_due(p);
    program_asks(p, WORDS("filling", "list"));
    program_says(p, "$.fillings[1].filter_on", "null");
    program_says(p, "$.fillings[1].ready_on", "\"2999-03-01\"");
    program_does(p, WORDS("verify"));
}

static void prints(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_does(p, WORDS("material", "edit", "Beta", "--name", "Alp<b>ine"));
    program_does(p, WORDS("weigh", "Quay/1", "10g", "--print", "html"));
    assert_non_null(strstr(p->out, "<!DOCTYPE html>"));
    assert_null(strstr(p->out, "<b>"));
    assert_non_null(strstr(p->out, "gloves"));
    program_does(p, WORDS("batch", "start", "Quay/1", "10g", "--as-it-is"));
    program_does(p, WORDS("batch", "show", "1", "--print", "text"));
    assert_non_null(strstr(p->out, "lot K8"));
}

/* A way out tops up what was done before as well, and what it becomes tells it so. */
static void what_was_done_is_topped_up_too(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    make_dilutions(p);
    program_asks(p, WORDS("batch", "start", "Quay/1", "10g"));
    program_asks(p, WORDS("batch", "pour", "1", "Alpha", "4g"));
    program_asks(p, WORDS("batch", "pour", "1", "Beta", "1.2g"));
    program_says(p, "$.lines[0].over", "true");
    program_asks(p, WORDS("batch", "rescue", "1"));
    program_says(p, "$.ways[0].way", "\"restore\"");
    program_says(p, "$.ways[0].total_g", "12");
    program_asks(p, WORDS("batch", "become", "1", "restore"));
    program_says(p, "$.materials[0].material", "\"Alpha\"");
    program_says(p, "$.materials[0].parts", "400");
    program_says(p, "$.materials[1].parts", "100");
    /* Accepted, it stays at its 4 g of 10.2 g. */
    program_does(p, WORDS("batch", "become", "1", "accept"));
    assert_non_null(strstr(p->out, "Alpha: 392.16 parts, was 400.00."));
    /* Of two that are over the larger ratio counts, and what is in the beaker costs nothing more:
     * 0.6 g of Alpha at 0.50 EUR a gram. */
    program_asks(p, WORDS("batch", "pour", "1", "Alpha", "0.2g"));
    program_asks(p, WORDS("batch", "rescue", "1"));
    program_says(p, "$.ways[0].total_g", "12");
    program_says(p, "$.ways[0].cost[0].amount", "0.3");
}

/* Whether a text begins with a piece, wherever its lines are broken. */
static bool goes_on(const char *text, const char *piece)
{
    for (; *piece != '\0'; text++, piece++)
        if (*text != *piece && !(*text == '\n' && *piece == ' '))
            return false;
    return true;
}

static bool holds(const char *text, const char *piece)
{
    while (*text != '\0' && !goes_on(text, piece))
        text++;
    return *text != '\0';
}

/* What ISO 22716, as commonly read, asks of a record of weighing; the words are our own. */
static void the_record_holds_what_is_asked_of_one(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_does(
        p, WORDS("bottle", "add", "Alpha", "30g", "--lot", "K77", "--supplier", "North pier"));
    program_does(p, WORDS("batch", "start", "Quay/1", "10g", "--as-it-is", "--by", "an owner"));
    program_does(p, WORDS("batch", "pour", "1", "Alpha", "3g"));
    program_does(p, WORDS("batch", "pour", "1", "Alpha", "1g", "--bottle", "B005"));
    program_does(p, WORDS("batch", "pour", "1", "Beta", "1.2g"));
    program_does(p, WORDS("batch", "rescue", "1", "accept"));
    program_does(p, WORDS("batch", "correct", "1", "1", "2.9g", "--note", "misread"));
    program_does(p, WORDS("batch", "note", "1", "the lamp flickered"));
    program_does(p, WORDS("batch", "finish", "1", "--short", "--make-bottle", "--make-trial"));
    program_does(p, WORDS("batch", "show", "1", "--print", "text"));
    static const char *const pieces[] = {
        "Batch number 1 of Quay/1: finished.", /* product, batch number, formula */
        "made by an owner",                    /* by whom */
        "Begun 20",
        "Finished 20",
        "Balance: Kitchen, reads 0.01 g", /* with what */
        "B001    K7 ",                    /* each entry from which bottle, lot ... */
        "B005    K77    North pier",      /* ... and supplier */
        "pour 2 from B005, not from B001",
        "Gamma: not poured.", /* deviations */
        "Alpha: 0.10 g less than meant (-2.5 %).",
        "over-pour: accept; from then on 10.20 g in all.",
        "pour 4 corrects pour 1 of Alpha (3.00 g): 2.90 g in truth: misread", /* the old one stays
                                                                               */
        "note: the lamp flickered",
        "short, into bottle B006, kept as trial 2", /* what became of it */
        "signed ____",                              /* room for whoever checks */
    };
    for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++)
        if (!holds(p->out, pieces[i]))
            fail_msg("\"%s\" is not in\n%s", pieces[i], p->out);
    assert_null(strstr(p->out, "conform"));
    program_does(p, WORDS("batch", "show", "1", "--print", "html"));
    assert_non_null(strstr(p->out, "<h2>Deviations and what was done</h2>"));
    program_asks(p, WORDS("batch", "show", "1"));
    program_says(p, "$.plans[1].way", "\"accept\"");
    program_says(p, "$.lines[1].planned_g", "1");
    program_says(p, "$.lines[1].target_g", "1.2");
    program_says(p, "$.pours[1].supplier", "\"North pier\"");
    program_does(p, WORDS("verify"));
}

/* A batch that was planned is made by whoever begins it. Its sheet and record tell target from
 * display, and which accord a line comes from. */
static void planned_first_is_made_by(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_does(p, WORDS("new", "Harbour"));
    program_does(p, WORDS("add", "Harbour", "Quay/1", "500", "--accord"));
    program_does(p, WORDS("add", "Harbour", "Beta", "500"));
    program_does(p, WORDS("keep", "Harbour"));
    program_does(p, WORDS("plan", "add", "Harbour/1", "10.005g"));
    program_does(p, WORDS("weigh", "Harbour/1", "10.005g", "--as-it-is", "--print", "text"));
    assert_non_null(strstr(p->out, " 2.001000 ")); /* of Alpha, exactly ... */
    assert_non_null(strstr(p->out, " 2.00 "));     /* ... and as it shows */
    assert_non_null(strstr(p->out, "Quay/1: lines 1, 2, 3, 4."));
    program_does(p, WORDS("batch", "start", "1", "--as-it-is", "--by", "an owner"));
    program_does(p, WORDS("batch", "pour", "1", "Alpha", "0.4g"));
    assert_non_null(strstr(p->err, "Poured 0.40 g of Alpha into batch 1.\nNext: "));
    program_does(p, WORDS("batch", "pour", "1", "Alpha", "2g", "--sum"));
    assert_non_null(strstr(p->err, "Poured 1.60 g of Alpha into batch 1.\n"));
    program_asks(p, WORDS("batch", "show", "1"));
    program_says(p, "$.made_by", "\"an owner\"");
    program_says(p, "$.lines[1].accords[0]", "\"Quay/1\"");
    program_does(p, WORDS("batch", "show", "1", "--print", "text"));
    assert_non_null(strstr(p->out, "made by an owner"));
    assert_non_null(strstr(p->out, "Quay/1: lines 1, 2, 3, 4."));
    assert_non_null(strstr(p->out, " 2.00 "));
    program_asks(p, WORDS("batch", "list"));
    program_says(p, "$.batches[0].made_by", "\"an owner\"");
}

/* Chosen once in the settings, it holds where nothing else is said. */
static void settings_hold(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_does(p, WORDS("settings", "set", "weigh_within", "5%"));
    program_does(p, WORDS("settings", "set", "weigh_order", "largest"));
    program_asks(p, WORDS("weigh", "Quay/1", "10g", "--as-it-is"));
    program_says(p, "$.tolerance_percent", "5");
    program_says(p, "$.lines[0].material", "\"Carrier\"");
    program_asks(
        p, WORDS("weigh", "Quay/1", "10g", "--as-it-is", "--order", "traces", "--tolerance", "2%"));
    program_says(p, "$.tolerance_percent", "2");
    program_says(p, "$.lines[0].material", "\"Gamma\"");
    program_refuses(p, "traces", WORDS("settings", "set", "weigh_order", "upwards"));
}

static void refused(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_refuses(p, "already", WORDS("balance", "add", "kitchen", "0.01g"));
    program_refuses(p, "no balance", WORDS("balance", "use", "Other"));
    program_refuses(p, "no mass", WORDS("weigh", "Quay/1", "0g"));
    program_misused(p, "kept trials", WORDS("batch", "start", "Quay", "1g"));
    program_refuses(p, "no planned batch", WORDS("batch", "show", "7"));
}

/* ---- a simulated balance ---- */

/* A child says "4.0", waits until the program has taken it, and pulls the plug. */
static void unplugged_within_a_line(struct program *p, int master, int far, const char *device)
{
    struct termios raw;
    assert_int_equal(tcgetattr(far, &raw), 0);
    cfmakeraw(&raw);
    assert_int_equal(tcsetattr(far, TCSANOW, &raw), 0);
    int left = 0;
    assert_int_equal(write(master, "4.0", 3), 3);
    while (ioctl(far, FIONREAD, &left) == 0 && left < 3)
        sched_yield();
    fflush(NULL);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        while (ioctl(far, FIONREAD, &left) == 0 && left > 0)
            sched_yield();
        _exit(0);
    }
    close(far);
    close(master);
    program_refuses(p, "unplugged", WORDS("batch", "pour", "1", "Alpha", "--from", device));
    int ended;
    assert_int_equal(waitpid(child, &ended, 0), child);
    assert_true(WIFEXITED(ended) && WEXITSTATUS(ended) == 0);
}

/* The program reads the pseudo-terminal's far end while a child says what a balance would. */
static void reads_a_device(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_does(p, WORDS("batch", "start", "Quay/1", "10g", "--as-it-is"));
    const int master = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(master >= 0);
    assert_int_equal(grantpt(master), 0);
    assert_int_equal(unlockpt(master), 0);
    char device[128];
    snprintf(device, sizeof device, "%s", ptsname(master));
    const int far = open(device, O_RDWR | O_NOCTTY); /* keeps it plugged in */
    static const char says[] = "ready\r\n  0.31 g\r\n 0.7\r\n  1.00 g\r\n  1.00 g\r\n  1.00 g\r\n";
    assert_int_equal(write(master, says, sizeof says - 1), (ssize_t)sizeof says - 1);
    program_asks(p, WORDS("batch", "pour", "1", "Beta", "--from", device));
    program_says(p, "$.poured_g", "1");
    static const char carats[] = "5.00 ct\r\n";
    assert_int_equal(write(master, carats, sizeof carats - 1), (ssize_t)sizeof carats - 1);
    program_refuses(p, "set it to grams", WORDS("batch", "pour", "1", "Alpha", "--from", device));
    static const char nothing[] = "0.00 g\r\n0.00 g\r\n0.00 g\r\n";
    assert_int_equal(write(master, nothing, sizeof nothing - 1), (ssize_t)sizeof nothing - 1);
    program_refuses(p, "above zero", WORDS("batch", "pour", "1", "Alpha", "--from", device));
    static const char below[] = "-1.00 g\r\n-1.00 g\r\n-1.00 g\r\n";
    assert_int_equal(write(master, below, sizeof below - 1), (ssize_t)sizeof below - 1);
    program_refuses(p, "tare it", WORDS("batch", "pour", "1", "Alpha", "--from", device));
    /* It settles and jumps again: nothing is taken for a reading. */
    static const char jumps[] =
        "4.00 g\r\n4.00 g\r\n4.00 g\r\n4.31 g\r\n3.98 g\r\n4.02 g\r\n4.02 g\r\n";
    assert_int_equal(write(master, jumps, sizeof jumps - 1), (ssize_t)sizeof jumps - 1);
    program_refuses(p, "did not settle",
                    WORDS("batch", "pour", "1", "Alpha", "--from", device, "--wait", "1s"));
    unplugged_within_a_line(p, master, far, device);
    program_refuses(p, "cannot be read", WORDS("batch", "pour", "1", "Alpha", "--from", device));
    program_asks(p, WORDS("batch", "show", "1"));
    program_says(p, "$.poured_g", "1"); /* of all that only the one that was steady */
    assert_int_equal(program_count(p, "$.pours"), 1);
}

static void reads_a_file(void **state)
{
    struct program *p = *state;
    make_shelf(p);
    program_does(p, WORDS("batch", "start", "Quay/1", "10g", "--as-it-is"));
    char *path = program_path(p, "readings");
    FILE *file = fopen(path, "w");
    fputs("0.5 g\n0.9 g\n1.01 g\n1.01 g\n", file);
    fclose(file);
    program_refuses(p, "unplugged", WORDS("batch", "pour", "1", "Beta", "--from", path));
    file = fopen(path, "a");
    fputs("1.01 g\n", file);
    fclose(file);
    program_asks(p, WORDS("batch", "pour", "1", "Beta", "--from", path));
    program_says(p, "$.poured_g", "1.01");
    free(path);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, program_set_up, program_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(from_plan_to_bottles),
        TEST(sensible_ways_first),
        TEST(reminds),
        TEST(the_record_holds_what_is_asked_of_one),
        TEST(what_was_done_is_topped_up_too),
        TEST(prints),
        TEST(planned_first_is_made_by),
        TEST(settings_hold),
        TEST(refused),
        TEST(reads_a_device),
        TEST(reads_a_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
