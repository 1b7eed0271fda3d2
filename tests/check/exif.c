/* What photo_parse_info() reads of each file named: file, displayed width, height, time taken, offset in
 * minutes or "", focal length in tenths of a mm, tab-separated. For check_exif.sh. */
#include <stdio.h>
#include <stdlib.h>

#include "base/err.h"
#include "base/files.h"
#include "photo/photo.h"

int main(int argc, char **argv)
{
    for (int i = 1; i < argc; i++) {
        struct photo_info info;
        struct err e = {0};
        char *data, offset[16] = "";
        size_t n;

        if (!files_read(argv[i], 1 << 26, &data, &n, &e) || !photo_parse_info((const uint8_t *)data, n, &info, &e)) {
            fprintf(stderr, "%s: %s\n", argv[i], e.text);
            return 1;
        }
        if (info.offset_given)
            snprintf(offset, sizeof offset, "%d", info.offset_min);
        printf("%s\t%d\t%d\t%s\t%s\t%.0f\n", argv[i], info.width, info.height, info.taken, offset, info.focal_mm * 10);
        free(data);
    }
    return 0;
}
