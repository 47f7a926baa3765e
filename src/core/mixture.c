/* SPDX-License-Identifier: MIT */
/* Mixture designs: the points to try. */
#include "permille/core/mixture.h"

#include "permille/base/word.h"

#include <string.h>

#define LATTICE_MOST 10

/* ---- bounds ---------------------------------------------------------------------------------- */

void pm_mix_unbounded(struct pm_mix_bounds *bounds)
{
    for (size_t i = 0; i < PM_MIX_MOST; i++) {
        bounds->least[i] = 0;
        bounds->most[i] = PM_NEAT;
    }
}

static int64_t sum_of(const int64_t *values, size_t count)
{
    int64_t sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += values[i];
    return sum;
}

static enum pm_status check(size_t components, const struct pm_mix_bounds *bounds,
                            struct pm_error *err)
{
    char text[PM_AMOUNT_TEXT];
    if (components < 2 || components > PM_MIX_MOST)
        return pm_fail(err, PM_REFUSED, "A mixture design takes 2 to %d components.", PM_MIX_MOST);
    for (size_t i = 0; i < components; i++)
        if (bounds->least[i] < 0 || bounds->most[i] > PM_NEAT || bounds->least[i] > bounds->most[i])
            return pm_fail(err, PM_REFUSED,
                           "The bounds of component %zu leave nothing between them.", i + 1);
    int64_t least = sum_of(bounds->least, components), most = sum_of(bounds->most, components);
    if (least > PM_NEAT)
        return pm_fail(err, PM_REFUSED, "The lower bounds come to %s %%; 100 %% is all there is.",
                       pm_decimal_exact(least, 7, '.', text));
    if (most < PM_NEAT)
        return pm_fail(err, PM_REFUSED,
                       "The upper bounds come to %s %% only; they must reach 100 %%.",
                       pm_decimal_exact(most, 7, '.', text));
    return PM_OK;
}

/* Whether an upper bound forbids what the lower bounds of the others would leave room for. */
static bool cuts(size_t components, const struct pm_mix_bounds *bounds)
{
    int64_t free_share = PM_NEAT - sum_of(bounds->least, components);
    for (size_t i = 0; i < components; i++)
        if (bounds->most[i] < bounds->least[i] + free_share)
            return true;
    return false;
}

/* ---- points ---------------------------------------------------------------------------------- */

static void reduce(struct pm_mix_point *point, size_t components)
{
    int64_t divisor = 0;
    for (size_t i = 0; i < components; i++)
        divisor = pm_gcd(divisor, point->part[i]);
    for (size_t i = 0; i < components && divisor > 1; i++)
        point->part[i] /= divisor;
}

/* Adds a point that is not there yet. */
static enum pm_status add(struct pm_mix_design *design, size_t components,
                          struct pm_mix_point point, struct pm_error *err)
{
    reduce(&point, components);
    for (size_t i = 0; i < design->count; i++)
        if (memcmp(&design->points[i], &point, sizeof point) == 0)
            return PM_OK;
    if (design->count == PM_MIX_POINTS_MOST)
        return pm_fail(err, PM_REFUSED, "That design has more than %d points.", PM_MIX_POINTS_MOST);
    design->points[design->count++] = point;
    return PM_OK;
}

/* The point with these shares, in units of 1/unit, of what is free above the lower bounds. */
static enum pm_status add_free(struct pm_mix_design *design, size_t components,
                               const struct pm_mix_bounds *bounds, const int64_t *shares,
                               int64_t unit, struct pm_error *err)
{
    struct pm_mix_point point = {{0}};
    int64_t free_share = PM_NEAT - sum_of(bounds->least, components);
    for (size_t i = 0; i < components; i++)
        point.part[i] = bounds->least[i] * unit + free_share * shares[i];
    return add(design, components, point, err);
}

/* Every way to lay `left` units on the components from `at` on, the later ones first. */
static enum pm_status lattice(struct pm_mix_design *design, size_t components,
                              const struct pm_mix_bounds *bounds, int64_t *shares, size_t at,
                              int64_t left, int64_t unit, struct pm_error *err)
{
    if (at + 1 == components) {
        shares[at] = left;
        return add_free(design, components, bounds, shares, unit, err);
    }
    for (int64_t here = 0; here <= left; here++) {
        shares[at] = here;
        enum pm_status status =
            lattice(design, components, bounds, shares, at + 1, left - here, unit, err);
        if (status != PM_OK)
            return status;
    }
    return PM_OK;
}

static int bits(unsigned subset)
{
    int count = 0;
    for (; subset; subset &= subset - 1)
        count++;
    return count;
}

/* The equal blends: of one, of two, of three... */
static enum pm_status centroids(struct pm_mix_design *design, size_t components,
                                const struct pm_mix_bounds *bounds, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (int size = 1; size <= (int)components; size++)
        for (unsigned subset = 1; subset < 1u << components && status == PM_OK; subset++) {
            int64_t shares[PM_MIX_MOST] = {0};
            for (size_t i = 0; i < components; i++)
                shares[i] = subset >> i & 1;
            if (bits(subset) == size)
                status = add_free(design, components, bounds, shares, size, err);
        }
    return status;
}

/* ---- where upper bounds cut ------------------------------------------------------------------ */

struct corner {
    int64_t share[PM_MIX_MOST]; /* 1e-9, adding up to 1e9 */
};
struct corners {
    struct corner items[PM_MIX_POINTS_MOST];
    size_t count;
};

static void add_corner(struct corners *corners, const struct corner *corner)
{
    for (size_t i = 0; i < corners->count; i++)
        if (memcmp(&corners->items[i], corner, sizeof *corner) == 0)
            return;
    /* 5 components have at most 5 x 16 candidates. */
    corners->items[corners->count++] = *corner;
}

/* One component takes what the others, each at one of its bounds, leave. */
static void find_corners(size_t components, const struct pm_mix_bounds *bounds,
                         struct corners *corners)
{
    corners->count = 0;
    for (unsigned choice = 0; choice < 1u << components; choice++)
        for (size_t rest = 0; rest < components; rest++) {
            struct corner corner = {{0}};
            int64_t left = PM_NEAT;
            if (choice >> rest & 1)
                continue;
            for (size_t i = 0; i < components; i++) {
                if (i == rest)
                    continue;
                corner.share[i] = choice >> i & 1 ? bounds->most[i] : bounds->least[i];
                left -= corner.share[i];
            }
            corner.share[rest] = left;
            if (left >= bounds->least[rest] && left <= bounds->most[rest])
                add_corner(corners, &corner);
        }
}

/* Bounds that both corners stand on. */
static size_t common(size_t components, const struct pm_mix_bounds *bounds, const struct corner *a,
                     const struct corner *b)
{
    size_t count = 0;
    for (size_t i = 0; i < components; i++)
        count += a->share[i] == b->share[i] &&
                 (a->share[i] == bounds->least[i] || a->share[i] == bounds->most[i]);
    return count;
}

static enum pm_status add_corners(struct pm_mix_design *design, size_t components,
                                  const struct corners *corners, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < corners->count && status == PM_OK; i++) {
        struct pm_mix_point point = {{0}};
        memcpy(point.part, corners->items[i].share, sizeof point.part);
        status = add(design, components, point, err);
    }
    return status;
}

static enum pm_status add_middles(struct pm_mix_design *design, size_t components,
                                  const struct pm_mix_bounds *bounds, const struct corners *corners,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t a = 0; a < corners->count; a++)
        for (size_t b = a + 1; b < corners->count && status == PM_OK; b++) {
            struct pm_mix_point point = {{0}};
            if (common(components, bounds, &corners->items[a], &corners->items[b]) < components - 2)
                continue;
            for (size_t i = 0; i < components; i++)
                point.part[i] = corners->items[a].share[i] + corners->items[b].share[i];
            status = add(design, components, point, err);
        }
    return status;
}

static enum pm_status add_centre(struct pm_mix_design *design, size_t components,
                                 const struct corners *corners, struct pm_error *err)
{
    struct pm_mix_point point = {{0}};
    for (size_t k = 0; k < corners->count; k++)
        for (size_t i = 0; i < components; i++)
            point.part[i] += corners->items[k].share[i];
    return add(design, components, point, err);
}

static enum pm_status cut_design(struct pm_mix_design *design, size_t components, int degree,
                                 const struct pm_mix_bounds *bounds, struct pm_error *err)
{
    struct corners corners;
    find_corners(components, bounds, &corners);
    enum pm_status status = add_corners(design, components, &corners, err);
    if (status == PM_OK && degree != 1)
        status = add_middles(design, components, bounds, &corners, err);
    if (status == PM_OK)
        status = add_centre(design, components, &corners, err);
    return status;
}

/* ---- the designs ----------------------------------------------------------------------------- */

enum pm_status pm_mix_vertices(size_t components, const struct pm_mix_bounds *bounds,
                               struct pm_mix_design *out, struct pm_error *err)
{
    struct pm_mix_design design = {.count = 0};
    struct corners corners;
    enum pm_status status = check(components, bounds, err);
    if (status != PM_OK)
        return status;
    find_corners(components, bounds, &corners);
    status = add_corners(&design, components, &corners, err);
    if (status == PM_OK)
        *out = design;
    return status;
}

enum pm_status pm_mix_design(size_t components, int degree, const struct pm_mix_bounds *bounds,
                             struct pm_mix_design *out, struct pm_error *err)
{
    struct pm_mix_design design = {.count = 0};
    int64_t shares[PM_MIX_MOST] = {0};
    enum pm_status status = check(components, bounds, err);
    if (status == PM_OK && (degree < 0 || degree > LATTICE_MOST))
        status = pm_fail(err, PM_REFUSED, "A lattice has a degree of 1 to %d.", LATTICE_MOST);
    if (status != PM_OK)
        return status;
    if (cuts(components, bounds))
        status = cut_design(&design, components, degree, bounds, err);
    else if (degree == 0)
        status = centroids(&design, components, bounds, err);
    else
        status = lattice(&design, components, bounds, shares, 0, degree, degree, err);
    if (status == PM_OK)
        *out = design;
    return status;
}

void pm_mix_shares(const struct pm_mix_point *point, size_t components, double *out)
{
    double sum = 0;
    for (size_t i = 0; i < components; i++)
        sum += (double)point->part[i];
    for (size_t i = 0; i < components; i++)
        out[i] = sum > 0 ? (double)point->part[i] / sum : 0;
}

/* ---- models ---------------------------------------------------------------------------------- */

static const char *const model_words[] = {
    [PM_MIX_LINEAR] = "linear",
    [PM_MIX_QUADRATIC] = "quadratic",
    [PM_MIX_SPECIAL_CUBIC] = "special cubic",
};

const char *pm_mix_model_word(enum pm_mix_model model)
{
    return model_words[model];
}

bool pm_mix_model_from_word(const char *word, enum pm_mix_model *out)
{
    const int place = pm_word_place(model_words, sizeof model_words / sizeof *model_words, word);
    if (place >= 0)
        *out = (enum pm_mix_model)place;
    return place >= 0;
}

/* The components that a term multiplies, as bits; 0 past the last term. Single ones first, then
 * pairs, then triples, each in the order of their numbers. */
static unsigned term_of(enum pm_mix_model model, size_t components, size_t term)
{
    int most = model == PM_MIX_LINEAR ? 1 : model == PM_MIX_QUADRATIC ? 2 : 3;
    for (int size = 1; size <= most; size++)
        for (size_t a = 0; a < components; a++)
            for (size_t b = size > 1 ? a + 1 : a; b < components && (size > 1 || b == a); b++)
                for (size_t c = size > 2 ? b + 1 : b; c < components && (size > 2 || c == b); c++)
                    if (term-- == 0)
                        return 1u << a | 1u << b | 1u << c;
    return 0;
}

size_t pm_mix_terms(enum pm_mix_model model, size_t components)
{
    size_t count = 0;
    if (components < 2 || components > PM_MIX_MOST ||
        (model == PM_MIX_SPECIAL_CUBIC && components < 3))
        return 0;
    while (term_of(model, components, count))
        count++;
    return count;
}

void pm_mix_expand(enum pm_mix_model model, size_t components, const double *shares, double *out)
{
    unsigned set;
    for (size_t term = 0; (set = term_of(model, components, term)) != 0; term++) {
        out[term] = 1;
        for (size_t i = 0; i < components; i++)
            if (set >> i & 1)
                out[term] *= shares[i];
    }
}

char *pm_mix_term_name(enum pm_mix_model model, size_t components, size_t term, char *buf)
{
    unsigned set = term_of(model, components, term);
    size_t length = 0;
    buf[length++] = 'b';
    for (size_t i = 0; i < components; i++)
        if (set >> i & 1)
            buf[length++] = (char)('1' + i);
    buf[length] = '\0';
    return buf;
}
