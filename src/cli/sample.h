/* sample.h - the sample logbook: four invented engines with their visits, photos, steps and parts. */
#ifndef CLI_SAMPLE_H
#define CLI_SAMPLE_H

#include <stdbool.h>
#include <stddef.h>

struct err;

/* Writes the sample logbook into `folder`, which must not exist or be empty: it is made beside it
 * under another name and renamed when whole, so a failure leaves nothing. Photos are taken from
 * sample_find_photos(). Fails when there is a logbook or anything else in the folder, when a photo
 * is missing, or when the disk refuses. */
bool sample_write(const char *folder, struct err *e);

/* The folder with the sample photos and places.csv: $SOOTBOOK_SAMPLES, the source tree the program
 * was built in, samples/photos below the working folder, or where `make install` put them. Fails
 * naming the places looked at. */
bool sample_find_photos(char *to, size_t n_room, struct err *e);

#endif
