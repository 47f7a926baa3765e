/* SPDX-License-Identifier: MIT */
/*
 * What a weigh-out plan costs: 300 materials with 20 strengths each, against looking at every
 * choice of a plan of 7 materials with 8 strengths each, which is as far as that goes.
 */
#include "permille/core/weigh_plan.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define MATERIALS 300
#define STRENGTHS 20
#define FEW       7
#define FEWER     8
#define SOLVENT   1000000

static double now_ms(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

static void fill(struct pm_weigh_need *needs, struct pm_weigh_bottle *bottles, int count,
                 int strengths)
{
    uint64_t seed = 7;
    for (int i = 0; i < count; i++) {
        seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        needs[i] = (struct pm_weigh_need){.line = i + 1,
                                          .material = i + 1,
                                          .neat = (pm_fine)(seed >> 33) % 1000000 + 100,
                                          .written = PM_NEAT,
                                          .volatility = NAN};
        for (int k = 0; k < strengths; k++)
            bottles[i * strengths + k] =
                (struct pm_weigh_bottle){.stock = {.id = i * strengths + k + 1,
                                                   .left = 500 * PM_GRAM,
                                                   .opened = PM_NO_DAY,
                                                   .since = k,
                                                   .best_before = PM_NO_DAY},
                                         .material = i + 1,
                                         .strength = PM_NEAT / (1 << (k / 2)) - k * 1000,
                                         .solvent = k == 0 ? 0 : SOLVENT};
        bottles[i * strengths].strength = PM_NEAT;
    }
    needs[count] = (struct pm_weigh_need){.line = count + 1,
                                          .material = SOLVENT,
                                          .neat = (pm_fine)count * 500000,
                                          .is_solvent = true,
                                          .written = PM_NEAT,
                                          .volatility = NAN};
}

/* Fewest weights below the minimum among every choice. */
static int every(const struct pm_weigh_need *needs, const struct pm_weigh_bottle *bottles, int at,
                 pm_mass whole, pm_mass room, pm_mass minimum, pm_mass mass)
{
    int best = 1 << 20;
    if (at == FEW)
        return 0;
    for (int k = 0; k < FEWER; k++) {
        const pm_mass neat = (pm_mass)((pm_int128)needs[at].neat * mass / whole);
        const pm_mass poured =
            (pm_mass)((pm_int128)neat * PM_NEAT / bottles[at * FEWER + k].strength);
        if (poured - neat > room)
            continue;
        const int rest =
            every(needs, bottles, at + 1, whole, room - (poured - neat), minimum, mass);
        best = rest + (poured < minimum) < best ? rest + (poured < minimum) : best;
    }
    return best;
}

int main(void)
{
    struct pm_weigh_need *needs = calloc(MATERIALS + 1, sizeof *needs);
    struct pm_weigh_bottle *bottles = calloc(MATERIALS * STRENGTHS, sizeof *bottles);
    const struct pm_weigh_wish wish = {.mass = 300 * PM_GRAM,
                                       .balance = {.readability = 10000},
                                       .tolerance = PM_WEIGH_TOLERANCE,
                                       .dilute = true,
                                       .today = 20000};
    struct pm_weigh_plan plan;
    if (needs == NULL || bottles == NULL)
        return 1;
    fill(needs, bottles, FEW, FEWER);
    pm_mass whole = 0;
    for (int i = 0; i <= FEW; i++)
        whole += needs[i].neat;
    const pm_mass solvent = (pm_mass)((pm_int128)needs[FEW].neat * wish.mass / whole);
    double from = now_ms();
    const int best = every(needs, bottles, 0, whole, solvent, 410000, wish.mass);
    const double reference = now_ms() - from;
    fill(needs, bottles, MATERIALS, STRENGTHS);
    from = now_ms();
    if (pm_weigh_plan(needs, MATERIALS + 1, bottles, MATERIALS * STRENGTHS, &wish, &plan, NULL) !=
        PM_OK)
        return 1;
    const double took = now_ms() - from;
    printf("weigh-out plan, %d materials of %d strengths: %.1f ms; every choice of %d of %d "
           "(%d too small): %.1f ms; ratio %.2f\n",
           MATERIALS, STRENGTHS, took, FEW, FEWER, best, reference, took / reference);
    pm_weigh_plan_release(&plan);
    free(needs);
    free(bottles);
    return 0;
}
