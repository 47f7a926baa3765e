/* SPDX-License-Identifier: MIT */
/*
 * What is known of a material's volatility, read from its facts and constituents.
 */
#ifndef PERMILLE_STUDIO_VOLATILITY_H
#define PERMILLE_STUDIO_VOLATILITY_H

#include "inside.h"

#include "permille/studio/drydown.h"

#define PM_BASIS_BYTES 96

struct pm_volatility {
    bool known;                 /* it has a vapour pressure */
    double pressure, low, high; /* Pa */
    bool predicted;
    char basis[PM_BASIS_BYTES];
    double molar_mass;         /* 0: none */
    double activity, transfer; /* 1: ideal */
    double threshold;          /* µg/m3; 0: none */
    int label;                 /* enum pm_stage, or -1 */
};
enum pm_status pm_volatility_of(struct pm_studio *studio, int64_t material,
                                struct pm_volatility *out, struct pm_error *err);

/* A constituent that is a material of the library with a vapour pressure. */
struct pm_volatile_part {
    int64_t material;
    double fraction; /* of the natural, by mass; together at most 1 */
    struct pm_volatility facts;
};
struct pm_volatile_parts {
    struct pm_volatile_part *items;
    size_t count;
    double known; /* their sum */
    struct pm_arena arena;
};
/* Own constituents alone count where there are some. What is given by its ends alone counts by
 * their middle. */
enum pm_status pm_volatile_parts_of(struct pm_studio *studio, int64_t material,
                                    struct pm_volatile_parts *out, struct pm_error *err);

/* How a neat unit of a material divides into the stages by vapour pressure, a natural by its
 * constituents; what has no figure comes last. */
enum { PM_SPLIT = PM_STAGES + 1 };
struct pm_stage_split {
    double of[PM_SPLIT];
    double predicted; /* of those with a figure */
};
enum pm_status pm_stage_split_of(struct pm_studio *studio, int64_t material,
                                 struct pm_stage_split *out, struct pm_error *err);

#endif
