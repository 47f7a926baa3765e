/* SPDX-License-Identifier: MIT */
/* What an exit status promises while memory runs out. */
#include "promise.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static void memory_fails(void **state)
{
    (void)state;
    promise_try_all(OWN_MEMORY);
}

static void sqlites_memory_fails(void **state)
{
    (void)state;
    promise_try_all(SQLITE_MEMORY);
}

int main(void)
{
    cmocka_set_test_filter(getenv("PERMILLE_TEST")); /* NULL: all */
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(memory_fails),
        cmocka_unit_test(sqlites_memory_fails),
    };
    return cmocka_run_group_tests(tests, promise_set_up, promise_tear_down);
}
