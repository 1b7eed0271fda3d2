/* clock.h - dates, times and unique ids. A calendar date is "2026-06-14"; a camera's time is local
 * time with, when known, its offset from UTC. */
#ifndef BASE_CLOCK_H
#define BASE_CLOCK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

double clock_monotonic_s(void);
int64_t clock_now_utc_ms(void);
/* Local date "2026-06-14"; what the environment says in SOOTBOOK_TODAY, for scripts, comes first. */
void clock_today(char to[11]);
/* The date lies behind today; false of what is no date. */
bool clock_is_ahead(const char *iso);

/* Days since 1970-01-01 of a proleptic Gregorian date. */
int64_t clock_days(int year, int month, int day);
bool clock_parse_date(const char *iso, int *year, int *month, int *day); /* strict, checks the calendar */
/* A date as people type it: "2026-06-14" or as it is shown, "14 Jun 2026", "14 june 2026", "14. Jun 2026". False when it is none. */
bool clock_read_date(const char *typed, char to[11]);
/* "14 Jun 2026"; the text itself when it is no date. */
void clock_date_words(const char *iso, char *to, size_t n_room);

#define UUID_BYTES 37
/* Version 7 (RFC 9562): sorts by time of making. */
void uuid_make(char to[UUID_BYTES]);
/* Version 8 from the SHA-256 of the parts joined by "/": the same parts give the same id on every
 * device, so that two copies of a logbook that note the same thing note it in the same row. */
void uuid_from_parts(char to[UUID_BYTES], const char *kind, const char *a, const char *b, const char *c);
bool uuid_is_valid(const char *s);

#endif
