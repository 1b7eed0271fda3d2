/* A case file of any bytes: refused with a sentence, or read, written and read again alike. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "casefile/casefile.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n_bytes)
{
    struct record a, b;
    struct err e = {0};

    if (!casefile_parse((const char *)data, n_bytes, &a, &e)) {
        if (e.text[0] == '\0')
            abort();
        return 0;
    }
    char *json = casefile_format(&a);

    if (!casefile_parse(json, strlen(json), &b, &e) || !casefile_equal(&a, &b, NULL, 0))
        abort();
    free(json);
    record_release(&a);
    record_release(&b);
    return 0;
}
