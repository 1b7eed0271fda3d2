#include "cli/picture.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/text.h"

bool cli_picture_load(const char *path, struct photo_pixels *out, struct photo_info *info, struct err *e)
{
    char *data;
    size_t n_bytes;
    bool fine;

    if (!files_read(path, PHOTO_MAX_FILE_BYTES, &data, &n_bytes, e))
        return false;
    fine = photo_decode((const uint8_t *)data, n_bytes, 0, NULL, out, info, e);
    free(data);
    return fine || err_wrap(e, "%s", path);
}

int cli_numbers(const char *s, const char *separators, double *out, int max)
{
    int n = 0;

    for (;;) {
        size_t length = strcspn(s, separators);
        char one[32];

        if (n == max || length == 0 || length >= sizeof one || memchr(s, ',', length) != NULL)
            return -1;
        memcpy(one, s, length);
        one[length] = '\0';
        if (!text_to_double(one, &out[n]) || !isfinite(out[n]) || fabs(out[n]) > 1e6)
            return -1;
        n++;
        if (s[length] == '\0')
            return n;
        s += length + 1;
    }
}
