/* display.h - how large the desktop wants things drawn where the window system tells window and pixel sizes as one: X11. */
#ifndef APP_DISPLAY_H
#define APP_DISPLAY_H

/* Pixels for a logical one, 1 to 3 in quarters, by the larger of the desktop's dots per inch (the X resource Xft.dpi; 96
 * is 1: the CSS reference pixel) and its whole factor (GDK_SCALE). NULL or no number: not told. Pure. */
float display_scale_of(const char *xft_dpi, const char *gdk_scale);
/* The same as the desktop says now. Main thread, after SDL's video was opened; 1 on other systems than X11. */
float display_scale(void);

#endif
