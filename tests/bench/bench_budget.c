/* SPDX-License-Identifier: MIT */
/*
 * What the balance costs a keystroke: the budget of 1,000 lines, an accord of 300 materials among
 * them, against the preview of one line set in the same trial, which a keystroke needs anyway.
 */
#include "permille/base/mem.h"
#include "permille/core/column.h"
#include "permille/core/gesture.h"
#include "permille/core/weigh_budget.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { LINES = 1000, TURNS = 200 };

static double now_us(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e6 + (double)time.tv_nsec / 1e3;
}

static void fill(struct pm_trial *trial)
{
    uint64_t seed = 5;
    pm_trial_init(trial, PM_PARTS_MAX / 10, PM_SHARE);
    for (int i = 0; i < LINES; i++) {
        seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        struct pm_line line = {.kind = i == 0 ? PM_LINE_ACCORD : PM_LINE_MATERIAL,
                               .ref = i + 1,
                               .parts = 1 + (pm_parts)(seed >> 34) % (PM_PARTS_MAX / 20000),
                               .strength = PM_NEAT};
        if (pm_trial_insert(trial, trial->count, &line, NULL) != PM_OK)
            abort();
    }
    trial->base = pm_trial_total(trial);
    pm_trial_weigh(trial);
}

int main(void)
{
    static struct pm_budget_item items[LINES];
    static struct pm_budget_line lines[LINES];
    static pm_parts parts[LINES];
    const struct pm_budget_accord accord = {
        .trial = 1, .weights = 300, .smallest = PM_WHOLE / 3000, .squares = 5e7};
    const struct pm_budget_terms terms = {.batch = 10 * PM_GRAM,
                                          .balance = {.readability = PM_GRAM / 1000},
                                          .tolerance = PM_NEAT / 50,
                                          .accords = &accord,
                                          .accord_count = 1};
    struct pm_trial trial;
    struct pm_budget budget;
    double preview = 0, ours = 0;
    size_t small = 0;
    fill(&trial);
    for (int turn = 0; turn < TURNS; turn++) {
        const struct pm_gesture set = {
            .kind = PM_SET, .line = trial.lines[turn].id, .parts = PM_PART + turn};
        double start = now_us();
        if (pm_gesture_preview(&set, &trial, parts, NULL) != PM_OK)
            return 1;
        preview += now_us() - start;
        start = now_us();
        for (int i = 0; i < LINES; i++)
            items[i] = (struct pm_budget_item){&trial.lines[i], parts[i]};
        pm_budget_read(&terms, items, LINES, lines, &budget);
        ours += now_us() - start;
        small += budget.small;
    }
    printf(
        "budget of %d lines   %8.1f us   preview of one set %8.1f us   %5.2f times (%zu small)\n",
        LINES, ours / TURNS, preview / TURNS, ours / preview, small / TURNS);
    pm_trial_release(&trial);
    return 0;
}
