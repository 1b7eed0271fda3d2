/* report_pdf.h - a report on paper: PDF by cairo, its text by pango. Text can be selected and found, photos go in as
 * they are, headings are bookmarks; no location data. */
#ifndef REPORT_REPORT_PDF_H
#define REPORT_REPORT_PDF_H

#include <stdbool.h>
#include <stddef.h>
#include "base/text.h"

struct content;
struct err;

struct report_paper {
    const char *id, *label;   /* "a4", "A4" */
    double width_pt, height_pt;
};
double report_paper_width_pt(const struct report_paper *p); /* between its margins, without the foot */
double report_paper_height_pt(const struct report_paper *p);
const struct report_paper *report_papers(int *n); /* the usual one first */
const struct report_paper *report_paper_find(const char *id); /* NULL: none */

/* Appends the file's bytes. Fails ERR_IO when no typeface is found, or memory does not suffice. */
bool report_pdf(const struct content *c, const struct report_paper *paper, struct text *out, struct err *e);
/* Drawings, each on a page of its own, as large as it finds room; lying: the paper's longer side is its width. */
struct drawing;
bool report_pdf_drawings(const struct drawing *pages, size_t n, const char *title, const struct report_paper *paper, bool lying, struct text *out, struct err *e);

#endif
