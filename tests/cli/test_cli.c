/* The built program as a script sees it: exit status, what is said and where. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <cjson/cJSON.h>
#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "base/text.h"
#include "cli/cli.h"
#include "logbook/logbook.h"

static char root[64];

/* Runs `sootbook ARGS` in a shell ($D is the scratch folder); what it said goes to out and err. */
static int run(const char *args, char **out, char **err)
{
    char command[1024], path[96];
    const char *program = getenv("SOOTBOOK");
    struct err e = {.code = ERR_NONE};
    size_t n;
    int status;

    text_format(command, sizeof command, "D='%s'; ( \"%s\" %s ) >'%s/out' 2>'%s/err' </dev/null", root,
                program != NULL ? program : "build/sootbook", args, root, root);
    status = system(command);
    assert_true(WIFEXITED(status));
    text_format(path, sizeof path, "%s/out", root);
    assert_true(files_read(path, 1 << 24, out, &n, &e));
    text_format(path, sizeof path, "%s/err", root);
    assert_true(files_read(path, 1 << 24, err, &n, &e));
    return WEXITSTATUS(status);
}

struct row {
    const char *args;
    int status;
    const char *said;    /* on standard error; "" nothing may be there */
    const char *printed; /* on standard output; "" nothing may be there */
};

static void check_rows(const struct row *rows, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        char *out, *err;
        int status = run(rows[i].args, &out, &err);

        if (status != rows[i].status)
            fail_msg("%s: exit status %d, not %d: %s", rows[i].args, status, rows[i].status, err);
        if (rows[i].said[0] == '\0' ? err[0] != '\0' : strstr(err, rows[i].said) == NULL)
            fail_msg("%s: said “%s”, not “%s”", rows[i].args, err, rows[i].said);
        if (rows[i].printed[0] == '\0' ? out[0] != '\0' : strstr(out, rows[i].printed) == NULL)
            fail_msg("%s: printed “%.200s”, not “%s”", rows[i].args, out, rows[i].printed);
        free(out);
        free(err);
    }
}
#define CHECK(rows) check_rows(rows, sizeof rows / sizeof rows[0])

static int set_up(void **state)
{
    char *out, *err;
    int status;

    (void)state;
    text_copy(root, sizeof root, "/tmp/sootbook-cli-XXXXXX");
    if (mkdtemp(root) == NULL)
        return -1;
    status = run("sample $D/book", &out, &err);
    free(out);
    free(err);
    return status;
}

static int tear_down(void **state)
{
    char command[96];

    (void)state;
    text_format(command, sizeof command, "rm -rf '%s'", root);
    return system(command);
}

static void wrong_usage_is_2_with_a_hint(void **state)
{
    static const struct row rows[] = {
        {"--nonsense", 2, "Try: sootbook --help", ""},
        {"read", 2, "usage: sootbook read", ""},
        {"read a b", 2, "unexpected “b”", ""},
        {"read --fast a", 2, "unknown option --fast", ""},
        {"read --compression-rule ratio-74 nowhere.json", 2, "“ratio-74” is none of ratio-75, ratio-70", ""},
        {"torque --thread M14x1.25 --seat gasket --maker much", 2, "--maker", ""},
        {"torque --thread", 2, "--thread needs a value", ""},
        {"torque --thread M14x1.25", 2, "--seat", ""},
        {"torque --seat gasket --seat taper", 2, "given twice", ""},
        {"report $D/book", 2, "-o", ""},
        {"report $D/book -o $D/x.doc", 2, "ends in .html", ""},
        {"report $D/book --paper foolscap -o $D/x.pdf", 2, "none of a4, letter", ""},
        {"report $D/book --without photos,secrets -o $D/x.html", 2, "no part “secrets”. Its parts: short, plan", ""},
        {"backup $D/book", 2, "usage: sootbook backup", ""},
        {"verify", 2, "usage: sootbook verify", ""},
        {"gap tests/photos/p01.jpg --pitch 1.25", 2, "are needed", ""},
        {"gap tests/photos/p01.jpg --thread 1,2,3 --pitch 1.25 --across 1,2,3,4", 2, "--thread is X1,Y1,X2,Y2", ""},
        {"gap tests/photos/p01.jpg --thread 1,2,3,4 --pitch fine --across 1,2,3,4", 2, "--pitch is in millimetres", ""},
        {"colour tests/photos/p01.jpg --area '1,1;9,1;9,9'", 2, "without a grey or white patch", ""},
        {"colour tests/photos/p01.jpg --neutral 1,2,3 --area '1,1;9,1;9,9'", 2, "--neutral is X,Y,W,H", ""},
        {"colour tests/photos/p01.jpg --neutral 1,2,30,30 --area '1,1;9,x;9,9'", 2, "--area is X,Y;X,Y", ""},
        {"sample", 2, "usage: sootbook sample", ""},
        {"torque --thread M14x1.25 --seat cone", 2, "gasket or taper", ""},
        {"torque --thread M14x1.25 --seat gasket --head wood", 2, "aluminium or cast-iron", ""},
        {"sampl", 2, "there is no verb or logbook “sampl”", ""},
        {"help", 2, "sootbook --help", ""},
        {"bogus --help", 2, "there is no verb or logbook “bogus”", ""},
        {"$D/book $D/other", 2, "one logbook at a time", ""},
        {"drive", 2, "usage: sootbook drive", ""},
        {"drive $D/book", 2, "name the script", ""},
    };

    (void)state;
    CHECK(rows);
}

/* What is wrong with one value would be lost in the whole usage. */
static void a_value_that_is_none_is_told_alone(void **state)
{
    char *out, *err;

    (void)state;
    assert_int_equal(run("report $D/book --units in,psi,mi -o $D/x.html", &out, &err), 2);
    assert_non_null(strstr(err, "“mi” is none of the units to choose from"));
    assert_null(strstr(err, "usage:"));
    free(out);
    free(err);
}

static void what_cannot_be_done_is_1_with_a_sentence(void **state)
{
    static const struct row rows[] = {
        {"read $D/none.json", 1, "none.json", ""},
        {"gap $D/none.jpg --thread 1,2,300,4 --pitch 1.25 --across 1,2,30,4", 1, "none.jpg", ""},
        {"gap tests/photos/p19.jpg --thread 800,100,1100,120 --pitch 1.25 --across 600,300,620,300", 1, "along th", ""},
        {"colour $D/none.jpg --neutral 1,2,30,30 --area '1,1;9,1;9,9'", 1, "none.jpg", ""},
        {"colour tests/photos/p01.jpg --neutral 1190,2,30,30 --area '1,1;9,1;9,9'", 1, "outside the picture", ""},
        {"read $D", 1, "folder", ""},
        {"read tests/cli/test_cli.c", 1, "test_cli.c", ""},
        {"torque --thread M13x1 --seat gasket", 1, "M14x1.25", ""},
        {"verify $D/none", 1, "Name the folder of a logbook", ""},
        {"sample /proc/none", 1, "the folder /proc/none:", ""},
        {"read /dev/null", 1, "is empty", ""},
        {"verify tests", 1, "tests", ""},
        {"report $D/book -o $D/x.html", 1, "Name one of", ""},
        {"report $D/book --engine Nobody -o $D/x.html", 1, "Nobody", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --visit 1999-01-01 -o $D/x.html", 1, "1999-01-01", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --visits none -o $D/x.html", 2, "“none” is no number of visits", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --units furlong -o $D/x.html", 2, "“furlong” is none of the units", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --units in,psi,mi -o $D/x.html", 2, "as each visit's odometer has them.", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --laid 2026-06-14,2024-10-05 -o $D/x.html", 2, "--laid are said of it", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --laid 2026-06-14 -o $D/x.png", 1, "name two visits", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --laid 2026-06-14,1999-01-01 -o $D/x.png", 1, "1999-01-01", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --laid 2026-06-14,2026-06-14 -o $D/x.png", 1, "one visit twice", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --visit 2024-10-05 --laid 2026-06-14,2024-10-05 -o $D/x.png", 1, "none of those in the line-up", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --laid 2026-06-14,2024-10-05,much -o $D/x.png", 1, "“much” is not a share", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' -o $D/no/such/x.html", 1, "x.html", ""},
        {"sample $D/book", 1, "holds a logbook already", ""},
        {"backup $D/book $D/out", 1, "out", ""}, /* exists */
    };

    (void)state;
    CHECK(rows);
}

static void an_unknown_key_is_named_with_its_place(void **state)
{
    struct err e = {.code = ERR_NONE};
    static const char text[] = "{\"engine\":{\"layout\":\"inline\",\"banks\":[{\"name\":\"1\",\"cylinders\":[1]}],"
                               "\"firing_order\":[1]},\"visit\":{\"colour\":\"red\"},\"readings\":[]}";
    char path[96];
    static const struct row rows[] = {{"read $D/odd.json", 1, "colour", ""}};

    (void)state;
    text_format(path, sizeof path, "%s/odd.json", root);
    assert_true(files_write(path, text, sizeof text - 1, &e));
    CHECK(rows);
}

static void work_is_done_and_printed(void **state)
{
    static const struct row rows[] = {
        {"--help", 0, "", "sootbook read [--causes FILE] [--compression-rule RULE] CASE.json"},
        {"--version", 0, "", "SQLite"},
        {"--help", 0, "", "sootbook drive LOGBOOK --script FILE"},
        {"drive --help", 0, "", "usage: sootbook drive"},
        {"gap --help", 0, "", "usage: sootbook gap"},
        {"colour --help", 0, "", "usage: sootbook colour"},
        {"read --help", 0, "", "usage: sootbook read"},
        {"read tests/fuzz/corpus/case/v8.json", 0, "", "\"one-bank\""},
        {"read - < tests/fuzz/corpus/case/v8.json", 0, "", "\"stand_out\""},
        {"torque --thread M14x1.25 --seat=gasket --head aluminium", 0, "", "engine maker's own figure wins"},
        {"torque --thread M14x1,25 --seat gasket --maker 27,5", 0, "", "\"maker_nm\":\t27.5"},
        {"torque --thread 'm14 \xC3\x97 1.25' --seat gasket", 0, "", "\"chart\":\t\"Louisiana State University\""},
        {"torque --thread M10x1 --seat gasket", 0, "", "\"chart\":\t\"NGK, USA\""},
        {"verify $D/book", 0, "", "clean"},
        {"backup $D/book $D/copy.db", 0, "this is the database alone;", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --visit 2026-06-14 -o $D/r.html", 0, "", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --visit '14. Juni 2026' -o $D/r.html", 0, "", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --visit 14.6.2026 -o $D/r.html", 0, "", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' -o $D/r.csv", 0, "", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --all-visits --paper letter -o $D/r.pdf", 0, "", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --visits 2 --units in,psi -o $D/in.html", 0, "", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' -o $D/r.json", 0, "", ""},
        {"report $D/book --engine 'Merrow 4.2 V8' --laid 2026-06-14,2024-10-05,60 -o $D/r.png", 0, "", ""},
        {"read $D/r.json", 0, "", "\"well.oil\""}, /* what is written is read */
    };

    (void)state;
    CHECK(rows);
}

/* Standard output must be JSON and nothing else. */
static void output_is_json(void **state)
{
    static const char *const calls[] = {"read tests/fuzz/corpus/case/v8.json",
                                        "torque --thread M14x1.25 --seat gasket --head aluminium"};

    (void)state;
    for (size_t i = 0; i < sizeof calls / sizeof calls[0]; i++) {
        char *out, *err;
        cJSON *json;

        assert_int_equal(run(calls[i], &out, &err), 0);
        json = cJSON_ParseWithOpts(out, NULL, 1);
        assert_non_null(json);
        cJSON_Delete(json);
        free(out);
        free(err);
    }
}

static void a_full_disk_is_told(void **state)
{
    char *out, *err;

    (void)state;
    if (access("/dev/full", W_OK) != 0)
        skip();
    assert_int_equal(run("read tests/fuzz/corpus/case/v8.json > /dev/full", &out, &err), 1);
    assert_non_null(strstr(err, "standard output"));
    free(out);
    free(err);
    assert_int_equal(run("torque --thread M14x1.25 --seat gasket > /dev/full", &out, &err), 1);
    assert_non_null(strstr(err, "standard output"));
    free(out);
    free(err);
}

/* A newer program's logbook, one of another program, and one that is no database. */
static void other_databases_are_refused(void **state)
{
    static const struct {
        const char *name, *sql, *said;
    } rows[] = {
        {"newer", "PRAGMA user_version = 999", "newer"},
        {"foreign", "PRAGMA application_id = 7", "logbook"},
    };
    struct err e = {.code = ERR_NONE};
    char folder[96], path[128], args[160], *out, *err;

    (void)state;
    for (size_t i = 0; i < 2; i++) {
        char from[128];
        sqlite3 *db;

        text_format(args, sizeof args, "backup $D/book $D/%s.db", rows[i].name);
        assert_int_equal(run(args, &out, &err), 0);
        free(out);
        free(err);
        text_format(from, sizeof from, "%s/%s.db", root, rows[i].name);
        text_format(folder, sizeof folder, "%s/%s", root, rows[i].name);
        text_format(path, sizeof path, "%s/logbook.db", folder);
        assert_true(files_make_folder(folder, &e));
        assert_true(files_copy(from, path, &e));
        assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
        assert_int_equal(sqlite3_exec(db, rows[i].sql, NULL, NULL, NULL), SQLITE_OK);
        sqlite3_close(db);
        text_format(args, sizeof args, "verify $D/%s", rows[i].name);
        assert_int_equal(run(args, &out, &err), 1);
        if (strstr(err, rows[i].said) == NULL)
            fail_msg("%s: %s", rows[i].name, err);
        free(out);
        free(err);
    }
    text_format(folder, sizeof folder, "%s/noise", root);
    text_format(path, sizeof path, "%s/logbook.db", folder);
    assert_true(files_make_folder(folder, &e));
    assert_true(files_write(path, "this is not a database at all, only words", 41, &e));
    assert_int_equal(run("verify $D/noise", &out, &err), 1);
    assert_true(strlen(err) > 30);
    free(out);
    free(err);
}

/* A photo gone or altered is found. */
static void verify_finds_a_damaged_photo(void **state)
{
    char command[256], *out, *err;

    (void)state;
    assert_int_equal(run("sample $D/hurt", &out, &err), 0);
    free(out);
    free(err);
    text_format(command, sizeof command, "f=$(ls '%s'/hurt/photos/* | head -1); chmod u+w \"$f\"; echo x >> \"$f\"", root);
    assert_int_equal(system(command), 0);
    assert_int_equal(run("verify $D/hurt", &out, &err), 1);
    assert_non_null(strstr(out, "1 damaged"));
    assert_true(err[0] != '\0');
    free(out);
    free(err);
}

/* A folder of old photos: told, taken, and there already the second time. */
static void a_folder_of_photos_is_taken_over(void **state)
{
    static const struct row rows[] = {
        {"take $D/f --layout v8-odd-left $D/f.csv", 0, "", "8 readings"},
        {"--version; mkdir -p $D/old/2023-08-11; cp samples/photos/v8-3-end.jpg \"$D/old/2023-08-11/zyl 3.jpg\"; cp samples/photos/v8-4-end.jpg $D/old/IMG_1.jpg", 0, "", "sootbook"},
        {"take $D/f --engine f --check $D/old", 0, "", "2023-08-11/zyl 3.jpg: 2023-08-11 (new), 3, Firing end"},
        {"verify $D/f", 0, "", "0 photos"},
        {"take $D/f --engine f $D/old", 0, "", "2 photos taken in; 0 were there already"},
        {"take $D/f --engine f $D/old", 0, "", "0 photos taken in; 2 were there already"},
        {"verify $D/f", 0, "", "2 photos: 0 missing"},
    };
    char path[96];
    struct err e = {0};
    struct text t = {0};

    (void)state;
    text_add(&t, "date,cyl,gap\n");
    for (int i = 1; i <= 8; i++)
        text_addf(&t, "2024-06-14,%d,1.1\n", i);
    text_format(path, sizeof path, "%s/f.csv", root);
    assert_true(files_write(path, text_get(&t), t.n_bytes, &e));
    text_release(&t);
    CHECK(rows);
}

/* Two copies that went apart; what both wrote is told. */
static void copies_are_merged(void **state)
{
    static const struct row rows[] = {
        {"merge $D/m", 2, "name the logbook and the copy", ""},
        {"take $D/m --layout i4 $D/m1.csv", 0, "", "1 reading"},
        {"merge $D/m $D/m", 1, "this logbook itself", ""},
        {"merge $D/m $D/nowhere", 1, "There is no folder", ""},
        {"--version; cp -r $D/m $D/m2", 0, "", "sootbook"},
        {"take $D/m --engine m1 $D/m2.csv", 0, "1.00 mm", "1 takes the place of another"},
        {"take $D/m2 --engine m1 $D/m3.csv", 0, "1.00 mm", "1 takes the place of another"},
        {"merge $D/m --back", 1, "No merge is noted", ""},
        {"merge $D/m $D/m2", 0, "", "as it was: before-merge-"},
        {"merge $D/m $D/m2 --back", 2, "takes the logbook alone", ""},
        {"merge $D/m --back", 0, "", "the last merge is taken back"},
        {"merge $D/m $D/m2", 0, "", "1 is said differently by both copies"},
        {"merge $D/m $D/m2", 0, "", "nothing new comes in"},
        {"merge $D/m2 $D/m", 0, "", "m1, 2024-06-14, gap as found of 1: "},
        {"verify $D/m2", 0, "", "clean"},
    };
    static const char *const sheets[] = {"date,cyl,gap\n2024-06-14,1,1.00\n", "date,cyl,gap\n2024-06-14,1,1.10\n", "date,cyl,gap\n2024-06-14,1,1.20\n"};
    char path[96];
    struct err e = {0};

    (void)state;
    for (int i = 0; i < 3; i++) {
        text_format(path, sizeof path, "%s/m%d.csv", root, i + 1);
        assert_true(files_write(path, sheets[i], strlen(sheets[i]), &e));
    }
    CHECK(rows);
}

/* A table: told, refused as a whole, taken, and there already the second time. */
static void a_table_is_taken_over(void **state)
{
    static const struct row rows[] = {
        {"take $D/t $D/t.csv", 1, "Which engine are these readings of", "Elektrodenabstand: Gap as found, mm (guessed)"},
        {"take $D/t --layout x9 $D/t.csv", 1, "no ready-made layout", ""},
        {"take $D/t --layout i4 --check $D/t.csv", 1, "t.csv, line 3, Zyl: The engine has no cylinder “9”", "Zyl: Cylinder"},
        {"take $D/t --layout i4 $D/t.csv", 1, "nothing was taken over: 1 row cannot be read", ""},
        {"verify $D/t", 1, "There is no folder", ""},
        {"take $D/t --layout i4 --leave-out $D/t.csv", 0, "line 3", "Taken over: 2 readings with 2 values into 2 new visits; 1 row left out"},
        {"take $D/t --engine t --leave-out $D/t.csv", 0, "line 3", "nothing new: 2 values of the table are in the logbook already"},
        {"take $D/t --engine t $D/ahead.csv", 0, "", "Taken over"},
        {"report $D/t --engine t --visits all -o $D/ahead.html", 0, "the visit of 2999-08-14 is dated after today and left out; --visit 2999-08-14 tells it", ""},
        {"take $D/t --dates ymd $D/t.csv", 1, "--dates is dmy", ""},
        {"take $D/t --columns Zyl=hat $D/t.csv", 1, "“hat” is none of", ""},
        {"verify $D/t", 0, "", "clean"},
    };
    char path[96];
    struct err e = {0};
    static const char sheet[] = "Datum;Zyl;Elektrodenabstand\n14.06.2024;1;1,10\n14.06.2024;9;1,15\n15.08.2025;2;1,25\n";

    (void)state;
    text_format(path, sizeof path, "%s/t.csv", root);
    assert_true(files_write(path, sheet, sizeof sheet - 1, &e));
    text_format(path, sizeof path, "%s/ahead.csv", root);
    assert_true(files_write(path, "date;cyl;gap\n2999-08-14;1;1.1\n", 30, &e));
    CHECK(rows);
}

/* Eight photos of the sample into an earlier visit with the same removal order: where their names tell no plug, laid along it by
 * the camera's time, each ends up where it belongs; where they do, by their names. */
static void photos_are_taken_in_and_placed(void **state)
{
    static const struct row rows[] = {
        {"place $D/p --engine 'Merrow 4.2 V8' samples/photos/v8-1-end.jpg", 2, "the visit", ""},
        {"place $D/p --engine 'Merrow 4.2 V8' --visit 2023-03-18 $D/none.jpg", 1, "none.jpg was not taken in", "\"photos\""},
        {"place $D/p --engine 'Merrow 4.2 V8' --visit 2023-03-18 samples", 1, "it is a folder", "There is no photo in this visit."},
        {"place $D/p --engine 'Merrow 4.2 V8' --visit 2023-03-18 README.md", 1, "README.md was not taken in", "\"photos\""},
        {"place $D/p --engine 'Merrow 4.2 V8' --visit 2024-10-05 tests/outside/broken/trunc-scan-50.jpg", 1, "is kept, but cannot be shown",
         "trunc-scan-50.jpg"},
        {"place $D/p --engine 'Merrow 4.2 V8' --visit 2023-03-18 --accept $D/shot-[a-h].jpg", 0, "", "8 plugs"},
        {"place $D/p --engine 'Merrow 4.2 V8' --visit 2023-03-18 $D/shot-[a-h].jpg", 0, "", "Every photo has its place"},
        {"place $D/named --engine 'Merrow 4.2 V8' --visit 2023-03-18 samples/photos/v8-[1-8]-end.jpg", 0, "", "8 by their names"},
        {"verify $D/p", 0, "", "clean"},
    };
    char *out, *err;
    cJSON *json, *photos;

    (void)state;
    for (int i = 0; i < 8; i++) {
        char from[64], to[64];
        struct err e = {0};

        text_format(from, sizeof from, "samples/photos/v8-%d-end.jpg", i + 1);
        text_format(to, sizeof to, "%s/shot-%c.jpg", root, 'a' + i);
        assert_true(files_copy(from, to, &e));
    }
    for (int i = 0; i < 2; i++) {
        assert_int_equal(run(i ? "sample $D/named" : "sample $D/p", &out, &err), 0);
        free(out);
        free(err);
    }
    CHECK(rows);
    assert_int_equal(run("place $D/p --engine 'Merrow 4.2 V8' --visit 2023-03-18 $D/shot-a.jpg", &out, &err), 0);
    json = cJSON_Parse(out);
    photos = cJSON_GetObjectItemCaseSensitive(json, "photos");
    assert_int_equal(cJSON_GetArraySize(photos), 8); /* the same file twice is one photo */
    for (int i = 0; i < 8; i++) {
        const cJSON *p = cJSON_GetArrayItem(photos, i);
        const char *label = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(p, "cylinder"));
        const char *name = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(p, "name"));

        assert_non_null(label);
        assert_non_null(name);
        assert_int_equal(name[5] - 'a' + '1', label[0]); /* "shot-f.jpg" is of 6 */
    }
    cJSON_Delete(json);
    free(out);
    free(err);
}

/* A case that contradicts itself or leaves a unit out is refused; a doubtful figure is told and read. */
static void a_doubtful_case_is_told(void **state)
{
    static const char engine[] = "{\"engine\":{\"layout\":\"single\",\"banks\":[{\"name\":\"1\",\"cylinders\":[1]}],\"firing_order\":[1]},";
    static const struct {
        const char *visit, *readings;
        int status;
        const char *said;
    } rows[] = {
        {"\"complaints\":[\"none\",\"knock\"]", "", 1, "stands beside other complaints"},
        {"\"complaints\":[\"none\"]", "", 0, ""},
        {"\"odometer\":97655", "", 1, "no odometer_unit"},
        {"\"odometer\":97655,\"odometer_unit\":\"mi\"", "", 0, ""},
        {"\"date\":\"2026-06-14\"", "{\"cylinder\":1,\"compression_kpa\":5}", 0, "5 bar would be 500 kPa"},
        {"\"date\":\"2026-06-14\"", "{\"cylinder\":1,\"compression_kpa\":500}", 0, ""},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct err e = {.code = ERR_NONE};
        char json[600], path[96], *out, *err;
        int status;

        text_format(json, sizeof json, "%s\"visit\":{%s},\"readings\":[%s]}", engine, rows[i].visit, rows[i].readings);
        text_format(path, sizeof path, "%s/doubt.json", root);
        assert_true(files_write(path, json, strlen(json), &e));
        status = run("read $D/doubt.json", &out, &err);
        if (status != rows[i].status || (rows[i].said[0] ? strstr(err, rows[i].said) == NULL : err[0] != '\0'))
            fail_msg("%s: status %d, said “%s”", json, status, err);
        free(out);
        free(err);
    }
}

/* Two visits of a date: neither is taken silently. */
static void two_visits_of_a_date_are_told_apart(void **state)
{
    static const struct row rows[] = {
        {"report $D/twice --engine 'Merrow 4.2 V8' --visit 2026-06-14 -o $D/t.json", 1, "2026-06-14/1 to 2026-06-14/2", ""},
        {"report $D/twice --engine 'Merrow 4.2 V8' --visit 2026-06-14/3 -o $D/t.json", 1, "2026-06-14/1, 2026-06-14/2", ""},
        {"report $D/twice --engine 'Merrow 4.2 V8' --visit 2026-06-14/1 -o $D/one.json", 0, "", ""},
        {"report $D/twice --engine 'Merrow 4.2 V8' --visit 2026-06-14/2 -o $D/two.json", 0, "", ""},
        {"report $D/twice --engine 'Merrow 4.2 V8' -o $D/last.json", 0, "", ""},
    };
    char path[200], engine[UUID_BYTES], visit[UUID_BYTES], *out, *err, *one, *two;
    struct err e = {.code = ERR_NONE};
    struct logbook *lb;
    struct record r;
    size_t n;

    (void)state;
    assert_int_equal(run("sample $D/twice", &out, &err), 0);
    free(out);
    free(err);
    text_format(path, sizeof path, "%s/twice", root);
    lb = logbook_open(path, LOGBOOK_WRITE, &e);
    assert_non_null(lb);
    assert_true(logbook_find_engine(lb, "Merrow 4.2 V8", engine, &e) && logbook_load_record(lb, engine, NULL, &r, &e));
    text_copy(r.visits[r.n_visits - 1].notes, sizeof r.visits[0].notes, "the second of the day");
    uuid_make(visit);
    assert_true(logbook_begin(lb, "Second", &e) && logbook_put_visit(lb, visit, engine, &r.engine, &r.visits[r.n_visits - 1], &e) &&
                logbook_commit(lb, &e));
    record_release(&r);
    logbook_close(lb);
    CHECK(rows);
    text_format(path, sizeof path, "%s/one.json", root);
    assert_true(files_read(path, 1 << 20, &one, &n, &e));
    text_format(path, sizeof path, "%s/two.json", root);
    assert_true(files_read(path, 1 << 20, &two, &n, &e));
    assert_int_not_equal(strstr(one, "the second of the day") != NULL, strstr(two, "the second of the day") != NULL);
    free(one);
    free(two);
    text_format(path, sizeof path, "report $D/twice --engine 'Merrow 4.2 V8' --visit %s -o $D/id.json", visit);
    assert_int_equal(run(path, &out, &err), 0);
    free(out);
    free(err);
}

/* A script turns a setting over: the person's file stays as it is, byte for byte. */
static void a_script_leaves_the_settings(void **state)
{
    static const char mine[] = "inches=1\n", script[] = "key F8\nkey F8\n";
    char path[96], *out, *err, *after;
    struct err e = {.code = ERR_NONE};
    size_t n;

    (void)state;
    setenv("SDL_VIDEODRIVER", "dummy", 1);
    text_format(path, sizeof path, "%s/config", root);
    setenv("XDG_CONFIG_HOME", path, 1);
    text_format(path, sizeof path, "%s/config/sootbook", root);
    assert_true(files_make_folder(path, &e));
    text_format(path, sizeof path, "%s/config/sootbook/settings", root);
    assert_true(files_write(path, mine, sizeof mine - 1, &e));
    text_format(path, sizeof path, "%s/f8.script", root);
    assert_true(files_write(path, script, sizeof script - 1, &e));
    if (run("drive $D/scripted --script $D/f8.script", &out, &err) != 0)
        fail_msg("%s", err);
    free(out);
    free(err);
    text_format(path, sizeof path, "%s/config/sootbook/settings", root);
    assert_true(files_read(path, 1 << 16, &after, &n, &e));
    assert_string_equal(after, mine);
    free(after);
    unsetenv("XDG_CONFIG_HOME");
}

static void verbs_are_complete(void **state)
{
    int n;
    const struct cli_verb *v = cli_verbs(&n);

    (void)state;
    for (int i = 0; i < n; i++) {
        assert_true(text_starts(v[i].usage, v[i].name));
        assert_true(v[i].help[0] != '\0' && v[i].more[0] != '\0');
        assert_true(v[i].run != NULL || strcmp(v[i].name, "drive") == 0);
        for (int k = 0; k < i; k++)
            assert_string_not_equal(v[i].name, v[k].name);
    }
}

/* An M18x1.5 measured as an M14x1.25: a fifth off, so it is asked. */
static void a_thread_that_is_not_as_wide_is_asked_about(void **state)
{
    static const struct row rows[] = {
        {"gap tests/photos/p07.jpg --thread 357,469,473,473 --pitch 1.25 --major 14 --across 606,304,622,304", 0, "of an M18x1.5, not of an M14x1.25; then the gap is 20 % wider", "gap_mm"},
        {"gap tests/photos/p07.jpg --thread 357,469,473,473 --pitch 1.5 --major 18 --across 606,304,622,304", 0, "", "gap_mm"}};

    (void)state;
    CHECK(rows);
}

/* p10 with lines along its outline and over its gap: the five figures, and what the ± is made of where that is asked for; which
 * thread was taken, where its diameter was not said. */
static void a_gap_says_what_its_doubt_is_made_of(void **state)
{
    static const char lines[] = "gap tests/photos/p10.jpg --thread 330,325,480,391 --pitch 1.25 --across 602,337,616,343";
    static const char *const parts[] = {"scale", "depth", "tip", "strap", "angle"};
    char *out, *err, args[200];
    cJSON *all, *list;
    double sum = 0;

    (void)state;
    assert_int_equal(run(lines, &out, &err), 0);
    assert_null(strstr(out, "remedy"));
    assert_non_null(strstr(err, "Taken as M14x1.25"));
    free(out), free(err);
    text_format(args, sizeof args, "%s --major 14 --explain", lines);
    assert_int_equal(run(args, &out, &err), 0);
    assert_string_equal(err, "");
    all = cJSON_Parse(out);
    assert_non_null(all);
    list = cJSON_GetObjectItem(all, "uncertainty_parts_mm");
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        sum += cJSON_GetNumberValue(cJSON_GetObjectItem(list, parts[i])) * cJSON_GetNumberValue(cJSON_GetObjectItem(list, parts[i]));
    assert_true(fabs(sqrt(sum) - cJSON_GetNumberValue(cJSON_GetObjectItem(all, "uncertainty_mm"))) < 0.001);
    assert_non_null(cJSON_GetObjectItem(list, cJSON_GetStringValue(cJSON_GetObjectItem(all, "largest"))));
    assert_true(strlen(cJSON_GetStringValue(cJSON_GetObjectItem(all, "remedy"))) > 40);
    cJSON_Delete(all);
    free(out), free(err);
}

/* A logbook nobody opened since an older version: the commands bring it up to date as the window does, and say so once. */
static void an_older_logbook_is_brought_up_to_date(void **state)
{
    static const struct {
        const char *verb, *rest;
    } verbs[] = {{"report", "-o \"$D/older.html\""}, {"verify", ""}, {"backup", "\"$D/older.db\""}};
    char *out, *err;

    (void)state;
    for (size_t i = 0; i < sizeof verbs / sizeof verbs[0]; i++) {
        char path[128], copy[160], command[300], again[64];
        struct err e = {.code = ERR_NONE};

        text_format(path, sizeof path, "%s/older-%zu", root, i);
        assert_true(files_make_folder(path, &e));
        text_format(path, sizeof path, "%s/older-%zu/logbook.db", root, i);
        assert_true(files_copy("tests/logbook/schema-8/logbook.db", path, &e));
        text_format(copy, sizeof copy, "%s/older-%zu/logbook-version-8.db", root, i);
        text_format(command, sizeof command, "%s \"$D/older-%zu\" %s", verbs[i].verb, i, verbs[i].rest);
        text_format(again, sizeof again, "verify \"$D/older-%zu\"", i);
        if (run(command, &out, &err) != 0)
            fail_msg("%s: %s", command, err);
        assert_non_null(strstr(err, "up to date now; a copy of it as it was is kept"));
        assert_true(files_exists(copy));
        free(out);
        free(err);
        assert_int_equal(run(again, &out, &err), 0);
        assert_null(strstr(err, "older version"));
        free(out);
        free(err);
    }
}

/* "--check" says what would be taken over and writes nothing: it made the logbook. */
static void a_check_writes_nothing(void **state)
{
    char *out, *err;

    (void)state;
    assert_int_equal(run("take $D/unborn --check --layout i4 tests/cli/check.csv", &out, &err), 0);
    assert_non_null(strstr(out, "Would be taken over"));
    free(out);
    free(err);
    assert_int_equal(run("take $D/unborn --check tests/cases/i4-coil-3.json", &out, &err), 0);
    assert_non_null(strstr(out, "would be taken over"));
    free(out);
    free(err);
    assert_int_equal(run("verify $D/unborn", &out, &err), 1); /* there is none */
    free(out);
    free(err);
    /* nor does a name that was mistyped make one, where nothing could be taken over; where it does, that is said */
    assert_int_equal(run("take $D/unborn samples/photos/v8-3-end.jpg", &out, &err), 1);
    assert_non_null(strstr(err, "v8-3-end.jpg is neither a case (.json) nor a table"));
    free(out);
    free(err);
    assert_int_equal(run("verify $D/unborn", &out, &err), 1);
    assert_non_null(strstr(err, "There is no folder"));
    free(out);
    free(err);
    assert_int_equal(run("take $D/newborn tests/cases/i4-coil-3.json", &out, &err), 0);
    assert_non_null(strstr(out, "newborn was not there: it is a new logbook now."));
    free(out);
    free(err);
    assert_int_equal(run("sample $D/born", &out, &err), 0);
    free(out);
    free(err);
    assert_int_equal(run("take $D/born --check tests/cases/i4-coil-3.json", &out, &err), 0);
    free(out);
    free(err);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_check_writes_nothing),
        cmocka_unit_test(a_thread_that_is_not_as_wide_is_asked_about),
        cmocka_unit_test(a_gap_says_what_its_doubt_is_made_of),
        cmocka_unit_test(wrong_usage_is_2_with_a_hint),
        cmocka_unit_test(a_value_that_is_none_is_told_alone),
        cmocka_unit_test(what_cannot_be_done_is_1_with_a_sentence),
        cmocka_unit_test(an_unknown_key_is_named_with_its_place),
        cmocka_unit_test(work_is_done_and_printed),
        cmocka_unit_test(output_is_json),
        cmocka_unit_test(a_full_disk_is_told),
        cmocka_unit_test(other_databases_are_refused),
        cmocka_unit_test(verify_finds_a_damaged_photo),
        cmocka_unit_test(photos_are_taken_in_and_placed),
        cmocka_unit_test(a_table_is_taken_over),
        cmocka_unit_test(copies_are_merged),
        cmocka_unit_test(a_folder_of_photos_is_taken_over),
        cmocka_unit_test(a_doubtful_case_is_told),
        cmocka_unit_test(two_visits_of_a_date_are_told_apart),
        cmocka_unit_test(a_script_leaves_the_settings),
        cmocka_unit_test(an_older_logbook_is_brought_up_to_date),
        cmocka_unit_test(verbs_are_complete),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
