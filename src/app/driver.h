/* driver.h - plays a script of keys, clicks and pictures in the window: for tests, journeys and the
 * pictures of the documents. docs/driver.md lists the lines it knows. */
#ifndef APP_DRIVER_H
#define APP_DRIVER_H

/* sootbook drive LOGBOOK --script FILE. Exit status as for the verbs. argv[0] is "drive". */
int driver_main(int argc, char **argv);

#endif
