/* SPDX-License-Identifier: MIT */
/* The user's key file, and text written in the person's own editor. */
#include "harness.h"

#include "src/tui/kit/files.h"

#include "permille/base/mem.h"
#include "permille/studio/settings.h"

#include <dirent.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static char world[] = "/tmp/permille-files-XXXXXX";

static void put(const char *name, const char *content)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", world, name);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(content, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static int start(void **state)
{
    char path[256];
    (void)state;
    if (mkdtemp(world) == NULL)
        return -1;
    for (size_t i = 0; i < 4; i++) {
        static const char *const folders[] = {"config", "config/permille", "tmp", "home"};
        snprintf(path, sizeof path, "%s/%s", world, folders[i]);
        if (mkdir(path, 0700))
            return -1;
    }
    snprintf(path, sizeof path, "%s/home", world);
    setenv("HOME", path, 1);
    snprintf(path, sizeof path, "%s/tmp", world);
    setenv("TMPDIR", path, 1);
    return 0;
}

static int end(void **state)
{
    char command[256];
    (void)state;
    snprintf(command, sizeof command, "rm -rf '%s'", world);
    return system(command);
}

static void key_file(void **state)
{
    (void)state;
    char config[200], path[256];
    char *text = NULL, *found = NULL;
    struct pm_settings values;
    struct pm_error err = {0};
    snprintf(config, sizeof config, "%s/config", world);
    snprintf(path, sizeof path, "%s/config/permille/keys", world);
    setenv("XDG_CONFIG_HOME", config, 1);
    pm_settings_usual(&values);
    pm_machine_settings(&values, &found, NULL, NULL);
    assert_string_equal(found, path);
    pm_free(found);
    assert_int_equal(pm_machine_keys(&text, &err), PM_OK);
    assert_string_equal(text, ""); /* none is as good as one */
    pm_free(text);
    assert_int_equal(pm_machine_keys_put("add", "z Ctrl-F", &err), PM_OK);
    put("config/permille/keys", "# mine\nundo z\n add  x \nadd y\nadd-note m\n");
    assert_int_equal(pm_machine_keys_get("add", &found, &err), PM_OK);
    assert_string_equal(found, "y");
    pm_free(found);
    assert_int_equal(pm_machine_keys_put("add", "Ctrl-F w", &err), PM_OK);
    assert_int_equal(pm_machine_keys(&text, &err), PM_OK);
    assert_string_equal(text, "# mine\nundo z\nadd-note m\nadd Ctrl-F w\n");
    pm_free(text);
    assert_int_equal(pm_machine_keys_put("add", NULL, &err), PM_OK);
    assert_int_equal(pm_machine_keys_get("add", &found, &err), PM_OK);
    assert_null(found);
    assert_int_equal(pm_machine_keys(&text, &err), PM_OK);
    assert_string_equal(text, "# mine\nundo z\nadd-note m\n");
    pm_free(text);
    put("config/permille/settings", "keys other-keys\n");
    pm_machine_settings(&values, &found, NULL, NULL);
    assert_non_null(strstr(found, "config/permille/other-keys"));
    pm_free(found);
    setenv("XDG_CONFIG_HOME", "config", 1); /* a relative one does not count */
    assert_int_equal(pm_machine_path("keys", &found, &err), PM_OK);
    assert_true(found == NULL || strstr(found, "/.config/permille/keys") != NULL);
    pm_free(found);
    setenv("XDG_CONFIG_HOME", config, 1);
    put("config/permille/settings", "");
    unlink(path);
    assert_int_equal(mkdir(path, 0700), 0);
    assert_int_equal(pm_machine_keys(&text, &err), PM_IO);
    assert_non_null(strstr(err.text, "cannot be read"));
    assert_int_equal(pm_machine_keys_put("add", "x", &err), PM_IO);
}

/* Runs a line of shell as the editor; the file is "$1". */
static enum pm_status edit(const char *script, const char *text, char **out, struct pm_error *err)
{
    char command[512];
    put("editor.sh", script);
    snprintf(command, sizeof command, "sh '%s/editor.sh'", world);
    setenv("EDITOR", command, 1);
    return pm_edit_text(text, 100, out, err);
}

static int files_left(void)
{
    char path[256];
    int count = 0;
    snprintf(path, sizeof path, "%s/tmp", world);
    DIR *folder = opendir(path);
    assert_non_null(folder);
    for (struct dirent *entry; (entry = readdir(folder));)
        count += entry->d_name[0] != '.';
    closedir(folder);
    return count;
}

static void own_editor(void **state)
{
    (void)state;
    struct pm_error err = {0};
    char *text = NULL;
    unsetenv("VISUAL");
    unsetenv("EDITOR");
    assert_int_equal(pm_edit_text("x", 100, &text, &err), PM_REFUSED);
    assert_non_null(strstr(err.text, "EDITOR"));
    assert_int_equal(edit("echo more >> \"$1\"; echo >> \"$1\"", "warm, dry", &text, &err), PM_OK);
    assert_string_equal(text, "warm, dry\nmore");
    pm_free(text);
    /* Another file in its place, as many editors do it; permissions keep it private. */
    assert_int_equal(
        edit("ls -l \"$1\" | cut -c1-10 > \"$1.new\"; mv \"$1.new\" \"$1\"", "", &text, &err),
        PM_OK);
    assert_string_equal(text, "-rw-------");
    pm_free(text);
    text = NULL;
    assert_int_equal(edit("echo lost > \"$1\"; exit 1", "kept", &text, &err), PM_REFUSED);
    assert_int_equal(edit("kill -9 $$", "kept", &text, &err), PM_REFUSED);
    assert_int_equal(edit("printf '\\377' > \"$1\"", "kept", &text, &err), PM_INVALID);
    assert_int_equal(edit("yes | head -c 200 > \"$1\"", "kept", &text, &err), PM_INVALID);
    assert_int_equal(edit("rm \"$1\"", "kept", &text, &err), PM_IO);
    assert_null(text);
    assert_int_equal(files_left(), 0);
}

/* Ctrl-C in the editor reaches everyone in front; the screen keeps it blocked and would end by it
 * afterwards. */
static void keys_meant_for_the_editor(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        int number;
    } keys[] = {{"INT", SIGINT}, {"QUIT", SIGQUIT}};
    sigset_t blocked, waiting, old;
    sigemptyset(&blocked);
    sigaddset(&blocked, SIGINT);
    sigaddset(&blocked, SIGQUIT);
    sigprocmask(SIG_BLOCK, &blocked, &old);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        struct pm_error err = {0};
        struct sigaction after;
        char script[128], *text = NULL;
        snprintf(script, sizeof script, "kill -%s %ld; echo more >> \"$1\"", keys[i].name,
                 (long)getpid());
        assert_int_equal(edit(script, "first", &text, &err), PM_OK);
        assert_string_equal(text, "first\nmore");
        pm_free(text);
        text = NULL;
        assert_int_equal(sigpending(&waiting), 0);
        assert_false(sigismember(&waiting, keys[i].number));
        sigaction(keys[i].number, NULL, &after);
        assert_true(after.sa_handler == SIG_DFL);
        /* The editor itself hears them as usual. */
        snprintf(script, sizeof script, "kill -%s $$; echo deaf > \"$1\"", keys[i].name);
        assert_int_equal(edit(script, "kept", &text, &err), PM_REFUSED);
        assert_null(text);
    }
    sigprocmask(SIG_SETMASK, &old, NULL);
}

/* The keyboard's Ctrl-C, as a terminal sends it: to the shell between us and the editor as well.
 * The editor lives on, and what it writes then is not lost. */
static void ctrl_c_in_the_editor_loses_nothing(void **state)
{
    (void)state;
    int status = -1;
    pid_t job = fork();
    if (job == 0) {
        struct pm_error err = {0};
        sigset_t blocked;
        char *text = NULL;
        sigemptyset(&blocked);
        sigaddset(&blocked, SIGINT);
        sigprocmask(SIG_BLOCK, &blocked, NULL);
        setpgid(0, 0);
        enum pm_status edited =
            edit("trap : INT; kill -INT 0; echo more >> \"$1\"", "first", &text, &err);
        bool kept = edited == PM_OK && strcmp(text, "first\nmore") == 0;
        pm_free(text);
        _exit(kept ? 0 : 1);
    }
    assert_int_equal(waitpid(job, &status, 0), job);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
}

static void completes(const char *before, size_t round, const char *expected)
{
    struct pm_text out = PM_TEXT_EMPTY;
    const bool found = pm_complete_file(NULL, before, round, &out);
    assert_int_equal(found, expected != NULL);
    if (found)
        assert_string_equal(pm_text_get(&out), expected);
    pm_text_release(&out);
}

static void paths_are_completed(void **state)
{
    (void)state;
    char *home = strdup(getenv("HOME")), path[300], expected[300];
    snprintf(path, sizeof path, "%s/paths", world);
    assert_int_equal(mkdir(path, 0700), 0);
    put("paths/quay.csv", "");
    put("paths/quays.txt", "");
    put("paths/.hidden", "");
    snprintf(path, sizeof path, "%s/paths/quiet", world);
    assert_int_equal(mkdir(path, 0700), 0);
    setenv("HOME", world, 1);
    completes("~/paths/qu", 0, "~/paths/quay.csv");
    completes("~/paths/qu", 1, "~/paths/quays.txt");
    completes("~/paths/qu", 2, "~/paths/quiet/");
    completes("~/paths/qu", 3, NULL);
    completes("~/paths/.", 2, "~/paths/.hidden");
    completes("~/nowhere/", 0, NULL);
    snprintf(path, sizeof path, "%s/paths/quay", world);
    snprintf(expected, sizeof expected, "%s/paths/quays.txt", world);
    completes(path, 1, expected);
    setenv("HOME", home, 1);
    free(home);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(key_file),
        cmocka_unit_test(paths_are_completed),
        cmocka_unit_test(own_editor),
        cmocka_unit_test(keys_meant_for_the_editor),
        cmocka_unit_test(ctrl_c_in_the_editor_loses_nothing),
    };
    return cmocka_run_group_tests(tests, start, end);
}
