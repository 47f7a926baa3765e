/* SPDX-License-Identifier: MIT */
/* Where the library is: --db, PERMILLE_DB, then the places of the XDG Base Directory Specification
 * 0.8 ("All paths set in these environment variables must be absolute. If an implementation
 * encounters a relative path in any of these variables it should consider the path invalid and
 * ignore it"; unset or empty means $HOME/.local/share). */
#include "src/cli/path.h"

#include "permille/base/mem.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static void set(const char *name, const char *value)
{
    if (value != NULL)
        setenv(name, value, 1);
    else
        unsetenv(name);
}

static void library_is(const char *given, const char *named, const char *data, const char *home,
                       const char *expected)
{
    char *path = NULL;

    set("PERMILLE_DB", named);
    set("XDG_DATA_HOME", data);
    set("HOME", home);
    assert_int_equal(pm_cli_library_path(given, &path, NULL), PM_OK);
    assert_string_equal(path, expected);
    pm_free(path);
}

static void first_named_wins(void **state)
{
    (void)state;
    library_is("a.db", "b.db", "/data", "/home/p", "a.db");
    library_is(NULL, "b.db", "/data", "/home/p", "b.db");
    library_is(NULL, "", "/data", "/home/p", "/data/permille/library.db");
    library_is(NULL, NULL, "/data", "/home/p", "/data/permille/library.db");
}

static void unusable_folders_do_not_count(void **state)
{
    (void)state;
    library_is(NULL, NULL, NULL, "/home/p", "/home/p/.local/share/permille/library.db");
    library_is(NULL, NULL, "", "/home/p", "/home/p/.local/share/permille/library.db");
    library_is(NULL, NULL, "data", "/home/p", "/home/p/.local/share/permille/library.db");
    library_is(NULL, NULL, "../data", "/home/p", "/home/p/.local/share/permille/library.db");
}

static void empty_name_is_refused(void **state)
{
    char *path = NULL;
    struct pm_error err;

    (void)state;
    assert_int_equal(pm_cli_library_path("", &path, &err), PM_INVALID);
    assert_null(path);
    assert_string_not_equal(err.text, "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(first_named_wins),
        cmocka_unit_test(unusable_folders_do_not_count),
        cmocka_unit_test(empty_name_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
