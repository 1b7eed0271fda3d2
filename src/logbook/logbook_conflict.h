/* logbook_conflict.h - the conflicts of fields, for the files of this folder. A field is named by table, row and column. */
#ifndef LOGBOOK_LOGBOOK_CONFLICT_H
#define LOGBOOK_LOGBOOK_CONFLICT_H

#include "logbook/logbook_db.h"

/* A statement with the field bound to ?1, ?2 and ?3, NULL when it cannot be had; run to its end, or to be stepped. */
sqlite3_stmt *logbook_db_ask_field(struct logbook *lb, const char *sql, const char *table, const char *row, const char *column, struct err *e);
bool logbook_db_run_field(struct logbook *lb, const char *sql, const char *table, const char *row, const char *column, struct err *e);
/* Gives its values, the one that stands first: new. */
sqlite3_stmt *logbook_db_ask_values(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e);
/* Notes whether the field is in conflict; or that it is. */
bool logbook_db_see_conflict(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e);
bool logbook_db_keep_conflict(struct logbook *lb, const char *table, const char *row, const char *column, struct err *e);

#endif
