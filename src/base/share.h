/* share.h - work on rows, shared by the cores of the machine. */
#ifndef BASE_SHARE_H
#define BASE_SHARE_H

/* Calls work(ctx, from, to) for ranges that together are rows 0 .. n (to is not in them), each `least` rows or more but
 * where there are fewer: one here, the others at the same time on threads of their own. Returns when all are done. Ranges
 * share nothing that is written. Where no thread can be made the work is done here. */
void share_rows(int n, int least, void (*work)(void *ctx, int from, int to), void *ctx);

#endif
