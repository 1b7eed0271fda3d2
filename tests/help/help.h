/* help.h - what several tests need: a folder of their own, and tables of tests/outside. */
#ifndef TESTS_HELP_H
#define TESTS_HELP_H

#include "base/csv.h"

/* For cmocka: a fresh folder before each test, gone behind it. */
extern char folder[64];
int make_folder(void **state);
int drop_folder(void **state);

/* A table of commas; fails the test with the reason when it cannot be read. csv_release() it. */
struct csv load_table(const char *path);
/* "774.8,742.0;797.4,734.8" as in samples/photos/marks.csv; at most n_room points, gives their number. */
int read_points(const char *s, double *x, double *y, int n_room);

#endif
