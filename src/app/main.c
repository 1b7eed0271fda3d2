/* main.c - one program, two faces: a verb runs without a window, anything else opens it. */
#include <stdio.h>

int main(int argc, char **argv)
{
    (void)argc;
    (void)argv;
    printf("sootbook %s\n", SOOTBOOK_VERSION);
    return 0;
}
