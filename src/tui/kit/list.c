/* SPDX-License-Identifier: MIT */
/* Lists longer than the rows there are for them. */
#include "list.h"

#include "action.h"

static size_t least_one(int rows)
{
    return rows > 1 ? (size_t)rows : 1;
}

bool pm_list_moves(int code)
{
    return code == PM_ACT_UP || code == PM_ACT_DOWN || code == PM_ACT_PAGE_UP ||
           code == PM_ACT_PAGE_DOWN || code == PM_ACT_FIRST || code == PM_ACT_LAST;
}

size_t pm_list_move(size_t at, size_t count, int rows, int code)
{
    const size_t last = count > 0 ? count - 1 : 0;
    const size_t page = rows > 2 ? (size_t)rows - 1 : 1;
    const size_t here = at < last ? at : last;
    switch (code) {
    case PM_ACT_UP:
        return here > 0 ? here - 1 : 0;
    case PM_ACT_DOWN:
        return here < last ? here + 1 : last;
    case PM_ACT_PAGE_UP:
        return here > page ? here - page : 0;
    case PM_ACT_PAGE_DOWN:
        return last - here > page ? here + page : last;
    case PM_ACT_FIRST:
        return 0;
    case PM_ACT_LAST:
        return last;
    default:
        return at;
    }
}

size_t pm_list_reach(size_t first, size_t at, int rows)
{
    const size_t seen = least_one(rows);
    if (at < first)
        return at;
    return at - first >= seen ? at - seen + 1 : first;
}

size_t pm_list_first(size_t first, size_t at, size_t count, int rows)
{
    const size_t seen = least_one(rows), last = count > seen ? count - seen : 0;
    const size_t reached = pm_list_reach(first, at, rows);
    return reached < last ? reached : last;
}
