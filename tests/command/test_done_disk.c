/* SPDX-License-Identifier: MIT */
/* What an exit status promises while the disk fails. */
#include "promise.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static void writes_fail(void **state)
{
    (void)state;
    promise_try_all(WRITE_FAILS);
    promise_try_all(WRITE_IS_LATE);
}

static void reads_fail(void **state)
{
    (void)state;
    promise_try_all(READ_FAILS);
}

int main(void)
{
    cmocka_set_test_filter(getenv("PERMILLE_TEST")); /* NULL: all */
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(writes_fail),
        cmocka_unit_test(reads_fail),
    };
    return cmocka_run_group_tests(tests, promise_set_up, promise_tear_down);
}
