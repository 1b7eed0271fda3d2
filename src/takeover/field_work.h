/* field_work.h - what the files that read headings and cells share. Not for callers. */
#ifndef TAKEOVER_FIELD_WORK_H
#define TAKEOVER_FIELD_WORK_H

#include "takeover/field.h"

/* Small letters and figures, one blank between words; with split, a figure behind a letter begins a word ("cyl3");
 * where it belongs to a label ("a3") whoever looks for it puts the words together again. */
void take_plain_words(const char *s, bool split, char *to, size_t n_room);
/* Where `part` stands in `s` as whole words, NULL nowhere. Both are plain words. */
char *take_find_words(char *s, const char *part);
/* "14. Juni 2026", "June 14th, 26", "Sun 14-Jun-2026": a month in words, English or German. */
bool take_read_word_date(const char *cell, char iso[11]);
/* 26 is 2026, 99 is 1999. */
int take_full_year(int year);

#endif
