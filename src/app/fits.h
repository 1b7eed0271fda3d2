/* fits.h - whether what a frame shows can be read: no text is cut without an ellipsis, covered, or written over
 * another; and whether what takes the focus can be brought into view. For the script player. */
#ifndef APP_FITS_H
#define APP_FITS_H

#include <stdbool.h>

struct text;
struct ui;
struct ui_widget;

/* Adds a sentence for each text of the last frame that cannot be read; of a dialog alone where one is open. True when there is none. */
bool fits_read(const struct ui *ui, struct text *why);
/* The next widget behind *from (0 first) that takes the focus and is not seen in full; NULL none. *from goes on behind it. */
const struct ui_widget *fits_hidden(const struct ui *ui, int *from);
bool fits_seen(const struct ui_widget *w);

#endif
