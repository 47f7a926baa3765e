/* SPDX-License-Identifier: MIT */
/*
 * A failing file system (see fault_vfs.h).
 */
#include "tests/store/fault_vfs.h"

#include <errno.h>
#include <fcntl.h>
#include <setjmp.h>
#include <sqlite3.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

enum { MOST_FILES = 16, PIECE = 512 };

/* What the disk surely holds of one name. */
struct durable {
    char name[512];
    bool there;
    unsigned char *data; /* owned */
    size_t length;
};

struct fault_file {
    sqlite3_file base;
    char name[512];
    sqlite3_file *real; /* behind this struct */
};

static struct {
    sqlite3_vfs vfs;
    sqlite3_vfs *real;
    enum fault_kind kind;
    long countdown, armed;
    bool hit;
    long views;
    struct durable files[MOST_FILES];
    size_t count;
} faults;

bool fault_all(void)
{
    const char *asked = getenv("PERMILLE_FAULTS");
    return asked != NULL && strcmp(asked, "all") == 0;
}

long fault_step(void)
{
#if defined __SANITIZE_ADDRESS__
    return fault_all() ? 1 : 2;
#else
    return 1;
#endif
}

/* ---- the model of the disk ---- */

static bool load(const char *name, unsigned char **data, size_t *length)
{
    struct stat seen;
    int file = open(name, O_RDONLY | O_CLOEXEC);
    *data = NULL;
    *length = 0;
    if (file < 0)
        return false;
    assert_int_equal(0, fstat(file, &seen));
    *length = (size_t)seen.st_size;
    *data = malloc(*length + 1);
    assert_int_equal(seen.st_size, read(file, *data, *length));
    close(file);
    return true;
}

static struct durable *find(const char *name)
{
    for (size_t i = 0; i < faults.count; i++)
        if (strcmp(faults.files[i].name, name) == 0)
            return &faults.files[i];
    return NULL;
}

/* Begins to follow a file as it is now: what is there when first met is on the disk. */
static struct durable *follow(const char *name)
{
    struct durable *file = find(name);
    if (file == NULL) {
        assert_true(faults.count < MOST_FILES);
        file = &faults.files[faults.count++];
        strncpy(file->name, name, sizeof file->name - 1);
        file->there = load(name, &file->data, &file->length);
    }
    return file;
}

static void make_durable(const char *name)
{
    struct durable *file = follow(name);
    free(file->data);
    file->there = load(name, &file->data, &file->length);
}

static void forget_files(void)
{
    for (size_t i = 0; i < faults.count; i++)
        free(faults.files[i].data);
    memset(faults.files, 0, sizeof faults.files);
    faults.count = 0;
}

static void mix(const struct durable *old, const unsigned char *now, size_t now_length, int handle)
{
    bool grows = now_length > old->length;
    size_t length = rand() % 2 ? now_length : old->length;
    if (grows && rand() % 2)
        length = old->length + (size_t)rand() % (now_length - old->length + 1);
    for (size_t at = 0; at < length; at += PIECE) {
        unsigned char piece[PIECE];
        for (int i = 0; i < PIECE; i++)
            piece[i] = (unsigned char)rand();
        bool new = rand() % 2 != 0;
        const unsigned char *from = new ? now : old->data;
        size_t have = new ? now_length : old->length;
        if (at < have)
            memcpy(piece, from + at, have - at < PIECE ? have - at : PIECE);
        size_t size = length - at < PIECE ? length - at : PIECE;
        assert_int_equal((ssize_t)size, write(handle, piece, size));
    }
}

void fault_power_loss(unsigned seed)
{
    srand(seed);
    for (size_t i = 0; i < faults.count; i++) {
        struct durable *old = &faults.files[i];
        unsigned char *now = NULL;
        size_t now_length = 0;
        bool there = load(old->name, &now, &now_length);
        bool survives = there == old->there ? there : rand() % 2 != 0;
        if (!survives) {
            unlink(old->name);
        } else if (!there) {
            int handle = open(old->name, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
            assert_int_equal((ssize_t)old->length, write(handle, old->data, old->length));
            close(handle);
        } else {
            int handle = open(old->name, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
            mix(old, now, now_length, handle);
            close(handle);
        }
        free(now);
    }
}

/* ---- counting ---- */

/* True when this operation must fail. */
static bool fails(bool writes)
{
    if (faults.kind == FAULT_NONE || faults.kind == FAULT_READ ||
        (faults.kind == FAULT_FULL && !writes))
        return false;
    faults.countdown--;
    bool now = faults.kind <= FAULT_LATE ? faults.countdown == 0 : faults.countdown <= 0;
    faults.hit = faults.hit || now;
    return now;
}

void fault_arm(enum fault_kind kind, long k)
{
    forget_files();
    faults.kind = kind;
    faults.countdown = faults.armed = k;
    faults.hit = false;
}

long fault_disarm(void)
{
    faults.kind = FAULT_NONE;
    return faults.armed - faults.countdown;
}

bool fault_hit(void)
{
    return faults.hit;
}

/* ---- files ---- */

static sqlite3_file *real(sqlite3_file *file)
{
    return ((struct fault_file *)(void *)file)->real;
}

static int file_close(sqlite3_file *file)
{
    return real(file)->pMethods->xClose(real(file));
}

static int file_read(sqlite3_file *file, void *data, int length, sqlite3_int64 offset)
{
    if (faults.kind == FAULT_READ && --faults.countdown == 0) {
        faults.hit = true;
        return SQLITE_IOERR_CORRUPTFS; /* what SQLite's own says of EIO */
    }
    return real(file)->pMethods->xRead(real(file), data, length, offset);
}

static int file_write(sqlite3_file *file, const void *data, int length, sqlite3_int64 offset)
{
    bool failing = fails(true);
    int rc = SQLITE_OK;
    if (!failing || faults.kind == FAULT_LATE)
        rc = real(file)->pMethods->xWrite(real(file), data, length, offset);
    if (failing)
        rc = faults.kind == FAULT_FULL ? SQLITE_FULL : SQLITE_IOERR_WRITE;
    return rc;
}

static int file_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    bool failing = fails(false);
    int rc = SQLITE_OK;
    if (!failing || faults.kind == FAULT_LATE)
        rc = real(file)->pMethods->xTruncate(real(file), size);
    return failing ? SQLITE_IOERR_TRUNCATE : rc;
}

static int file_sync(sqlite3_file *file, int flags)
{
    if (fails(false))
        return SQLITE_IOERR_FSYNC;
    /* The model stands for the disk: no need to make the real one wait. */
    (void)flags;
    if (faults.kind == FAULT_POWER)
        make_durable(((struct fault_file *)(void *)file)->name);
    return SQLITE_OK;
}

static int file_size(sqlite3_file *file, sqlite3_int64 *size)
{
    return real(file)->pMethods->xFileSize(real(file), size);
}

static int file_lock(sqlite3_file *file, int lock)
{
    /* Every view of the file begins with this lock, and keeps it until it ends. */
    if (lock == SQLITE_LOCK_SHARED)
        faults.views++;
    return real(file)->pMethods->xLock(real(file), lock);
}

static int file_unlock(sqlite3_file *file, int lock)
{
    return real(file)->pMethods->xUnlock(real(file), lock);
}

static int file_reserved(sqlite3_file *file, int *out)
{
    return real(file)->pMethods->xCheckReservedLock(real(file), out);
}

static int file_control(sqlite3_file *file, int op, void *arg)
{
    if (op == SQLITE_FCNTL_LAST_ERRNO && faults.kind == FAULT_READ && faults.hit) {
        *(int *)arg = EIO;
        return SQLITE_OK;
    }
    return real(file)->pMethods->xFileControl(real(file), op, arg);
}

static int file_sector(sqlite3_file *file)
{
    (void)file;
    return PIECE;
}

static int file_device(sqlite3_file *file)
{
    (void)file;
    return 0; /* promises nothing */
}

static const sqlite3_io_methods methods = {
    .iVersion = 1,
    .xClose = file_close,
    .xRead = file_read,
    .xWrite = file_write,
    .xTruncate = file_truncate,
    .xSync = file_sync,
    .xFileSize = file_size,
    .xLock = file_lock,
    .xUnlock = file_unlock,
    .xCheckReservedLock = file_reserved,
    .xFileControl = file_control,
    .xSectorSize = file_sector,
    .xDeviceCharacteristics = file_device,
};

/* ---- names ---- */

static int vfs_open(sqlite3_vfs *vfs, sqlite3_filename name, sqlite3_file *file, int flags,
                    int *out_flags)
{
    (void)vfs;
    struct fault_file *mine = (struct fault_file *)(void *)file;
    memset(mine, 0, sizeof *mine);
    mine->real = (sqlite3_file *)(void *)(mine + 1);
    bool creates = (flags & SQLITE_OPEN_CREATE) != 0;
    if (name != NULL) {
        strncpy(mine->name, name, sizeof mine->name - 1);
        if (faults.kind == FAULT_POWER)
            follow(name);
    }
    if (creates && fails(false))
        return SQLITE_CANTOPEN;
    int rc = faults.real->xOpen(faults.real, name, mine->real, flags, out_flags);
    if (rc == SQLITE_OK)
        file->pMethods = &methods;
    return rc;
}

static int vfs_delete(sqlite3_vfs *vfs, const char *name, int sync_folder)
{
    (void)vfs;
    bool failing = fails(false);
    if (failing && faults.kind != FAULT_LATE)
        return SQLITE_IOERR_DELETE;
    int rc = faults.real->xDelete(faults.real, name, 0);
    if (failing)
        return SQLITE_IOERR_DIR_FSYNC;
    if (rc == SQLITE_OK && sync_folder && faults.kind == FAULT_POWER)
        make_durable(name);
    return rc;
}

void fault_register(void)
{
    if (faults.real != NULL)
        return;
    faults.real = sqlite3_vfs_find(NULL);
    faults.vfs = *faults.real;
    faults.vfs.zName = "fault";
    faults.vfs.pNext = NULL;
    faults.vfs.szOsFile = (int)sizeof(struct fault_file) + faults.real->szOsFile;
    faults.vfs.xOpen = vfs_open;
    faults.vfs.xDelete = vfs_delete;
    assert_int_equal(SQLITE_OK, sqlite3_vfs_register(&faults.vfs, 0));
}

void fault_register_for_all(void)
{
    fault_register();
    assert_int_equal(SQLITE_OK, sqlite3_vfs_register(&faults.vfs, 1));
}

long fault_views(void)
{
    long views = faults.views;
    faults.views = 0;
    return views;
}

const char *fault_vfs(void)
{
    return "fault";
}
