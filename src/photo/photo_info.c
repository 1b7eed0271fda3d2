/* photo_info.c - what a picture file says about itself, from its headers, before anything large is
 * allocated. Formats are told by content; a name says nothing. */
#include "photo/photo.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "base/err.h"
#include "base/files.h"
#include "base/mem.h"
#include "photo/photo_work.h"

static const struct {
    const char *id, *name;
    const char *extensions[4];
} formats[N_PHOTO_FORMATS] = {
    [PHOTO_JPEG] = {"jpg", "JPEG", {"jpg", "jpeg", "jpe", "jfif"}},
    [PHOTO_PNG] = {"png", "PNG", {"png"}},
    [PHOTO_WEBP] = {"webp", "WebP", {"webp"}},
    [PHOTO_BMP] = {"bmp", "BMP", {"bmp", "dib"}},
    [PHOTO_TIFF] = {"tif", "TIFF", {"tif", "tiff"}},
    [PHOTO_GIF] = {"gif", "GIF", {"gif"}},
    [PHOTO_HEIC] = {"heic", "HEIC", {"heic", "heif", "hif"}},
};

const char *photo_format_id(enum photo_format f)
{
    return f >= 0 && f < N_PHOTO_FORMATS ? formats[f].id : "";
}

const char *photo_format_name(enum photo_format f)
{
    return f >= 0 && f < N_PHOTO_FORMATS ? formats[f].name : "unknown";
}

bool photo_name_fits(const char *file_name)
{
    const char *have = files_extension(file_name);

    for (int f = 0; f < N_PHOTO_FORMATS; f++)
        for (size_t i = 0; i < 4 && formats[f].extensions[i]; i++) {
            const char *want = formats[f].extensions[i];
            size_t n = 0;

            while (want[n] && tolower((unsigned char)have[n]) == want[n])
                n++;
            if (!want[n] && !have[n])
                return true;
        }
    return false;
}

static bool begins(const uint8_t *data, size_t n_bytes, const char *with, size_t n)
{
    return n_bytes >= n && memcmp(data, with, n) == 0;
}

static uint32_t be32(const uint8_t *p)
{
    return (uint32_t)p[0] << 24 | (uint32_t)p[1] << 16 | (uint32_t)p[2] << 8 | p[3];
}

static uint32_t le32(const uint8_t *p)
{
    return (uint32_t)p[3] << 24 | (uint32_t)p[2] << 16 | (uint32_t)p[1] << 8 | p[0];
}

static unsigned be16(const uint8_t *p)
{
    return (unsigned)(p[0] << 8 | p[1]);
}

static unsigned le16(const uint8_t *p)
{
    return (unsigned)(p[1] << 8 | p[0]);
}

/* ISO base media files name their kind; these brands hold HEVC stills (ISO/IEC 23008-12). */
static bool heic_brand(const uint8_t *data, size_t n_bytes)
{
    static const char brands[][5] = {"heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1"};

    if (n_bytes < 12 || memcmp(data + 4, "ftyp", 4) != 0)
        return false;
    for (size_t i = 0; i < sizeof brands / sizeof *brands; i++)
        if (memcmp(data + 8, brands[i], 4) == 0)
            return true;
    return false;
}

enum photo_format photo_sniff(const uint8_t *data, size_t n_bytes)
{
    if (begins(data, n_bytes, "\xff\xd8", 2))
        return PHOTO_JPEG;
    if (begins(data, n_bytes, "\x89PNG\r\n\x1a\n", 8))
        return PHOTO_PNG;
    if (n_bytes >= 12 && memcmp(data, "RIFF", 4) == 0 && memcmp(data + 8, "WEBP", 4) == 0)
        return PHOTO_WEBP;
    if (begins(data, n_bytes, "GIF87a", 6) || begins(data, n_bytes, "GIF89a", 6))
        return PHOTO_GIF;
    if (begins(data, n_bytes, "II*\0", 4) || begins(data, n_bytes, "MM\0*", 4))
        return PHOTO_TIFF;
    if (begins(data, n_bytes, "BM", 2))
        return PHOTO_BMP;
    if (heic_brand(data, n_bytes))
        return PHOTO_HEIC;
    return PHOTO_UNKNOWN;
}

/* Says what a file that is no picture seems to be: the usual mistakes get a remedy. */
static bool no_picture(const uint8_t *data, size_t n_bytes, struct err *e)
{
    size_t n_text = 0, n_look = n_bytes < 512 ? n_bytes : 512;

    if (n_bytes == 0)
        return err_set(e, ERR_FORMAT, "The file is empty. Copy it from the phone or camera again.");
    if (n_bytes >= 12 && memcmp(data + 4, "ftyp", 4) == 0) {
        if (memcmp(data + 8, "avif", 4) == 0 || memcmp(data + 8, "avis", 4) == 0)
            return err_set(e, ERR_FORMAT, "This is an AVIF picture, which is not read here. Save it as JPEG, then add that.");
        return err_set(e, ERR_FORMAT, "This is a film or another kind of media file, no photo. Save one frame as JPEG, then add that.");
    }
    if (begins(data, n_bytes, "%PDF", 4))
        return err_set(e, ERR_FORMAT, "This is a PDF document, no picture. Save the page as JPEG or PNG, then add that.");
    if (begins(data, n_bytes, "PK\x03\x04", 4))
        return err_set(e, ERR_FORMAT, "This is a ZIP archive, no picture. Unpack it, then add the photos in it.");
    for (size_t i = 0; i < n_look; i++)
        n_text += data[i] >= 0x20 && data[i] < 0x7f ? 1 : isspace(data[i]) != 0;
    if (n_text == n_look && n_look > 1)
        return err_set(e, ERR_FORMAT, "This is a text file or web page, no picture, whatever its name says.");
    return err_set(e, ERR_FORMAT, "This is no picture that can be read here. JPEG, PNG, WebP, BMP, TIFF, GIF and HEIC are read, "
                   "whatever the file is called.");
}

bool photo_check_size(uint64_t width, uint64_t height, struct err *e)
{
    if (width == 0 || height == 0)
        return err_set(e, ERR_FORMAT, "The file says its picture has no size (%llu × %llu). It is damaged; copy it again.",
                       (unsigned long long)width, (unsigned long long)height);
    if (width > PHOTO_MAX_SIDE_PX || height > PHOTO_MAX_SIDE_PX || width * height > PHOTO_MAX_PIXELS)
        return err_set(e, ERR_LIMIT, "The picture says it is %llu × %llu pixels; at most %d megapixels and %d a side are read. "
                       "If that is right, save a smaller copy and add that.", (unsigned long long)width,
                       (unsigned long long)height, PHOTO_MAX_PIXELS / 1000000, PHOTO_MAX_SIDE_PX);
    return true;
}

static bool set_size(struct photo_info *out, uint64_t width, uint64_t height, struct err *e)
{
    if (!photo_check_size(width, height, e))
        return false;
    out->stored_width = (int)width;
    out->stored_height = (int)height;
    return true;
}

static bool ends_early(struct err *e)
{
    return err_set(e, ERR_FORMAT, "The file ends before the picture begins. Copy it from the phone or camera again.");
}

static bool damaged_head(enum photo_format f, struct err *e)
{
    return err_set(e, ERR_FORMAT, "The start of this %s file is damaged. Copy it from the phone or camera again.",
                   photo_format_name(f));
}

/* ---- JPEG: ITU-T T.81 annex B ---- */
static bool jpeg_info(const uint8_t *data, size_t n, struct photo_info *out, struct err *e)
{
    size_t at = 2;
    bool exif_seen = false;

    for (;;) {
        unsigned marker, n_segment;

        while (at < n && data[at] != 0xff) /* stray bytes between segments: passed over, as decoders do */
            at++;
        while (at < n && data[at] == 0xff)
            at++;
        if (at >= n)
            return ends_early(e);
        marker = data[at++];
        if (marker == 0x00 || marker == 0x01 || (marker >= 0xd0 && marker <= 0xd8))
            continue;
        if (marker == 0xd9 || marker == 0xda)
            return damaged_head(PHOTO_JPEG, e);
        if (at + 2 > n)
            return ends_early(e);
        n_segment = be16(data + at);
        if (n_segment < 2)
            return damaged_head(PHOTO_JPEG, e);
        if (n_segment > n - at)
            return ends_early(e);
        if (marker == 0xe1 && !exif_seen && n_segment >= 8 && memcmp(data + at + 2, "Exif\0", 5) == 0) {
            exif_seen = true;
            photo_read_exif(data + at + 8, n_segment - 8, out);
        }
        if (marker >= 0xc0 && marker <= 0xcf && marker != 0xc4 && marker != 0xc8 && marker != 0xcc) {
            if (n_segment < 8)
                return damaged_head(PHOTO_JPEG, e);
            return set_size(out, be16(data + at + 5), be16(data + at + 3), e);
        }
        at += n_segment;
    }
}

/* ---- PNG: ISO/IEC 15948, clause 5 ---- */
/* The chunk at *at, which moves on behind it; false at the end. */
static bool png_chunk(const uint8_t *data, size_t n, size_t *at, const uint8_t **body, size_t *n_body, char type[5])
{
    if (*at + 12 > n)
        return false;
    *n_body = be32(data + *at);
    if (*n_body > n - *at - 12)
        return false;
    memcpy(type, data + *at + 4, 4);
    type[4] = '\0';
    *body = data + *at + 8;
    *at += *n_body + 12;
    return true;
}

static bool png_info(const uint8_t *data, size_t n, struct photo_info *out, struct err *e)
{
    size_t at = 8, n_body;
    const uint8_t *body;
    char type[5];

    if (n < 33)
        return ends_early(e);
    if (!png_chunk(data, n, &at, &body, &n_body, type) || strcmp(type, "IHDR") != 0 || n_body != 13)
        return damaged_head(PHOTO_PNG, e);
    if (!set_size(out, be32(body), be32(body + 4), e))
        return false;
    while (png_chunk(data, n, &at, &body, &n_body, type))
        if (strcmp(type, "eXIf") == 0) {
            photo_read_exif(body, n_body, out);
            break;
        }
    return true;
}

bool photo_png_whole_chunks(const uint8_t *data, size_t n, size_t *n_whole, bool *ended, struct err *e)
{
    size_t at = 8, n_body;
    const uint8_t *body;
    char type[5] = "";
    bool pixels = false;

    *ended = false;
    *n_whole = 8;
    while (!*ended && png_chunk(data, n, &at, &body, &n_body, type)) {
        *n_whole = at;
        pixels = pixels || strcmp(type, "IDAT") == 0;
        *ended = strcmp(type, "IEND") == 0;
    }
    if (*ended || (pixels && (n - *n_whole < 12 || strcmp(type, "IDAT") != 0)))
        return true;
    return err_set(e, ERR_FORMAT, "The file ends in the middle of the picture. Copy it from the phone or camera again.");
}

bool photo_find_png_profile(const uint8_t *data, size_t n, const uint8_t **packed, size_t *n_packed)
{
    size_t at = 8, n_body, n_name = 0;
    const uint8_t *body;
    char type[5];

    while (png_chunk(data, n, &at, &body, &n_body, type) && strcmp(type, "IDAT") != 0)
        if (strcmp(type, "iCCP") == 0) {
            while (n_name < n_body && n_name < 80 && body[n_name])
                n_name++;
            if (n_name + 2 >= n_body || body[n_name] || body[n_name + 1] != 0)
                return false;
            *packed = body + n_name + 2;
            *n_packed = n_body - n_name - 2;
            return true;
        }
    return false;
}

/* ---- WebP: RFC 9649 ---- */
static bool webp_chunk(const uint8_t *data, size_t n, size_t *at, const uint8_t **body, size_t *n_body, char type[5])
{
    if (*at + 8 > n)
        return false;
    *n_body = le32(data + *at + 4);
    if (*n_body > n - *at - 8)
        return false;
    memcpy(type, data + *at, 4);
    type[4] = '\0';
    *body = data + *at + 8;
    *at += 8 + *n_body + (*n_body & 1);
    return true;
}

static bool webp_info(const uint8_t *data, size_t n, struct photo_info *out, struct err *e)
{
    size_t at = 12, n_body;
    const uint8_t *body;
    char type[5];
    bool sized = false;

    while (webp_chunk(data, n, &at, &body, &n_body, type)) {
        if (!sized && strcmp(type, "VP8X") == 0 && n_body >= 10) {
            uint32_t w = 1 + (le32(body + 3) >> 8), h = 1 + (le32(body + 6) >> 8);

            if (!set_size(out, w, h, e))
                return false;
            sized = true;
        } else if (!sized && strcmp(type, "VP8 ") == 0 && n_body >= 10) {
            if (body[3] != 0x9d || body[4] != 0x01 || body[5] != 0x2a)
                return damaged_head(PHOTO_WEBP, e);
            if (!set_size(out, le16(body + 6) & 0x3fff, le16(body + 8) & 0x3fff, e))
                return false;
            sized = true;
        } else if (!sized && strcmp(type, "VP8L") == 0 && n_body >= 5) {
            uint32_t bits = le32(body + 1);

            if (body[0] != 0x2f)
                return damaged_head(PHOTO_WEBP, e);
            if (!set_size(out, 1 + (bits & 0x3fff), 1 + (bits >> 14 & 0x3fff), e))
                return false;
            sized = true;
        } else if (strcmp(type, "EXIF") == 0) {
            bool headed = n_body >= 6 && memcmp(body, "Exif\0", 5) == 0;

            photo_read_exif(headed ? body + 6 : body, headed ? n_body - 6 : n_body, out);
        }
    }
    return sized || ends_early(e);
}

bool photo_find_webp_profile(const uint8_t *data, size_t n, const uint8_t **icc, size_t *n_icc)
{
    size_t at = 12;
    char type[5];

    while (webp_chunk(data, n, &at, icc, n_icc, type))
        if (strcmp(type, "ICCP") == 0)
            return true;
    return false;
}

static void put_le32(uint8_t *p, size_t v)
{
    for (int i = 0; i < 4; i++)
        p[i] = (uint8_t)(v >> (8 * i));
}

bool photo_webp_first_frame(const uint8_t *data, size_t n, uint8_t **still, size_t *n_still)
{
    size_t at = 12, n_body, n_frame;
    const uint8_t *body;
    char type[5];
    uint8_t *s;

    while (webp_chunk(data, n, &at, &body, &n_body, type)) {
        if (strcmp(type, "ANMF") != 0 || n_body < 24)
            continue;
        /* 16 bytes say where and how long; the rest are the chunks of a still picture. */
        n_frame = n_body - 16;
        s = mem_try(n_frame + 30, 1);
        if (!s)
            return false;
        memcpy(s, "RIFF\0\0\0\0WEBPVP8X\x0a\0\0\0", 20);
        put_le32(s + 4, n_frame + 22);
        s[20] = 0x10; /* may hold an alpha chunk */
        memcpy(s + 24, body + 6, 6); /* width and height less one */
        memcpy(s + 30, body + 16, n_frame);
        *still = s;
        *n_still = n_frame + 30;
        return true;
    }
    return false;
}

/* ---- BMP ---- */
static bool bmp_info(const uint8_t *data, size_t n, struct photo_info *out, struct err *e)
{
    uint32_t n_header;
    int64_t w, h;

    if (n < 26)
        return ends_early(e);
    n_header = le32(data + 14);
    if (n_header == 12) {
        w = le16(data + 18);
        h = le16(data + 20);
    } else if (n_header >= 40 && n_header <= 1024) {
        w = (int32_t)le32(data + 18);
        h = (int32_t)le32(data + 22);
        if (h < 0) /* rows from the top */
            h = -h;
        /* Compression is 0..6, and no palette has more than 256 colours (the format's own figures). */
        if (n >= 50 && (le32(data + 30) > 6 || le32(data + 46) > 256))
            return damaged_head(PHOTO_BMP, e);
    } else {
        return damaged_head(PHOTO_BMP, e);
    }
    if (w < 0)
        return damaged_head(PHOTO_BMP, e);
    return set_size(out, (uint64_t)w, (uint64_t)h, e);
}

static bool tiff_info(const uint8_t *data, size_t n, struct photo_info *out, struct err *e)
{
    uint32_t w, h;

    if (!photo_read_tiff_size(data, n, &w, &h))
        return damaged_head(PHOTO_TIFF, e);
    if (!set_size(out, w, h, e))
        return false;
    photo_read_exif(data, n, out);
    return true;
}

bool photo_parse_info(const uint8_t *data, size_t n_bytes, struct photo_info *out, struct err *e)
{
    static bool (*const readers[N_PHOTO_FORMATS])(const uint8_t *, size_t, struct photo_info *, struct err *) = {
        [PHOTO_JPEG] = jpeg_info, [PHOTO_PNG] = png_info,   [PHOTO_WEBP] = webp_info,        [PHOTO_BMP] = bmp_info,
        [PHOTO_TIFF] = tiff_info, [PHOTO_GIF] = photo_gif_info, [PHOTO_HEIC] = photo_heic_info,
    };

    memset(out, 0, sizeof *out);
    out->orientation = 1;
    out->format = photo_sniff(data, n_bytes);
    if (out->format == PHOTO_UNKNOWN)
        return no_picture(data, n_bytes, e);
    if (n_bytes > PHOTO_MAX_FILE_BYTES)
        return err_set(e, ERR_LIMIT, "The file is larger than %zu MB, which is more than any photo. Save a smaller copy and add that.",
                       PHOTO_MAX_FILE_BYTES / (1024 * 1024));
    if (!readers[out->format](data, n_bytes, out, e))
        return false;
    out->width = out->orientation >= 5 ? out->stored_height : out->stored_width;
    out->height = out->orientation >= 5 ? out->stored_width : out->stored_height;
    return true;
}
