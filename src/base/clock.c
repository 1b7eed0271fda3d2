#include "base/clock.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/random.h>
#include <time.h>
#include <unistd.h>

#include "base/files.h"
#include "base/text.h"

double clock_monotonic_s(void)
{
    struct timespec t;

    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

int64_t clock_now_utc_ms(void)
{
    struct timespec t;

    clock_gettime(CLOCK_REALTIME, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

void clock_today(char to[11])
{
    static _Thread_local struct { /* a list of ten thousand visits asks for each */
        time_t at;
        char date[11];
    } told;
    const char *said = getenv("SOOTBOOK_TODAY");
    time_t now = time(NULL);
    int year, month, day;
    struct tm tm;

    if (said != NULL && clock_parse_date(said, &year, &month, &day)) {
        text_copy(to, 11, said);
        return;
    }
    if (now != told.at || told.date[0] == '\0') {
        localtime_r(&now, &tm);
        text_format(told.date, sizeof told.date, "%04d-%02d-%02d", (tm.tm_year + 1900) % 10000, tm.tm_mon + 1, tm.tm_mday);
        told.at = now;
    }
    memcpy(to, told.date, sizeof told.date);
}

bool clock_is_ahead(const char *iso)
{
    char today[11];

    if (iso == NULL || iso[0] == '\0')
        return false;
    clock_today(today);
    return strcmp(iso, today) > 0;
}

int64_t clock_days(int year, int month, int day)
{
    /* Count from 1 March, so that the leap day is the last of the counted year. */
    int64_t y = month <= 2 ? year - 1 : year;
    int64_t era = (y >= 0 ? y : y - 399) / 400;
    int64_t of_era = y - era * 400;
    int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;

    return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

static int days_in_month(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;

    return month == 2 && leap ? 29 : days[month - 1];
}

bool clock_parse_date(const char *iso, int *year, int *month, int *day)
{
    int y, m, d;

    if (strlen(iso) != 10 || iso[4] != '-' || iso[7] != '-')
        return false;
    for (int i = 0; i < 10; i++)
        if (i != 4 && i != 7 && (iso[i] < '0' || iso[i] > '9'))
            return false;
    y = (iso[0] - '0') * 1000 + (iso[1] - '0') * 100 + (iso[2] - '0') * 10 + (iso[3] - '0');
    m = (iso[5] - '0') * 10 + (iso[6] - '0');
    d = (iso[8] - '0') * 10 + (iso[9] - '0');
    if (m < 1 || m > 12 || d < 1 || d > days_in_month(y, m))
        return false;
    *year = y;
    *month = m;
    *day = d;
    return true;
}

static const char *const months[] = {"January", "February", "March",     "April",   "May",      "June",
                                     "July",    "August",   "September", "October", "November", "December"};

bool clock_read_date(const char *typed, char to[11])
{
    char word[16] = "", iso[16];
    int y = 0, m = 0, d = 0, used = 0;
    size_t n;

    typed += strspn(typed, " ");
    n = strlen(typed);
    while (n > 0 && typed[n - 1] == ' ')
        n--;
    text_format(iso, sizeof iso, "%.*s", (int)n, typed);
    if (n != 10 || !clock_parse_date(iso, &y, &m, &d)) {
        if (sscanf(typed, "%2d%*[. ]%15[A-Za-z]%n", &d, word, &used) != 2 || strlen(word) < 3)
            return false;
        typed += used + (int)strspn(typed + used, ". ");
        if (strspn(typed, "0123456789") != 4 || typed[4 + strspn(typed + 4, " ")] != '\0')
            return false;
        y = (int)strtol(typed, NULL, 10);
        for (int i = 0; i < 12; i++)
            if (strncasecmp(months[i], word, strlen(word)) == 0)
                m = i + 1;
        text_format(iso, sizeof iso, "%04d-%02d-%02d", y, m, d);
        if (m == 0 || d < 1 || !clock_parse_date(iso, &y, &m, &d))
            return false;
    }
    memcpy(to, iso, 11);
    return true;
}

void clock_date_words(const char *iso, char *to, size_t n_room)
{
    int y, m, d;

    if (clock_parse_date(iso, &y, &m, &d))
        text_format(to, n_room, "%d %.3s %d", d, months[m - 1], y);
    else
        text_copy(to, n_room, iso);
}

static void format_uuid(const unsigned char b[16], char to[UUID_BYTES])
{
    snprintf(to, UUID_BYTES,
             "%02x%02x%02x%02x-%02x%02x-%02x%02x-%02x%02x-%02x%02x%02x%02x%02x%02x", b[0], b[1],
             b[2], b[3], b[4], b[5], b[6], b[7], b[8], b[9], b[10], b[11], b[12], b[13], b[14],
             b[15]);
}

static void fill_random(unsigned char *to, size_t n_bytes)
{
    if (getrandom(to, n_bytes, 0) == (ssize_t)n_bytes)
        return;
    /* An old kernel: the device gives the same. */
    int fd = open("/dev/urandom", O_RDONLY | O_CLOEXEC);
    ssize_t n = fd < 0 ? -1 : read(fd, to, n_bytes);

    if (fd >= 0)
        close(fd);
    if (n != (ssize_t)n_bytes) { /* still unique on this device: time and process */
        uint64_t mix = (uint64_t)clock_now_utc_ms() * 2654435761u ^ (uint64_t)getpid() << 32;

        for (size_t i = 0; i < n_bytes; i++) {
            mix = mix * 6364136223846793005u + 1442695040888963407u;
            to[i] = (unsigned char)(mix >> 56);
        }
    }
}

void uuid_make(char to[UUID_BYTES])
{
    unsigned char b[16];
    uint64_t ms = (uint64_t)clock_now_utc_ms();

    fill_random(b, sizeof b);
    for (int i = 0; i < 6; i++)
        b[i] = (unsigned char)(ms >> (40 - 8 * i));
    b[6] = (unsigned char)(0x70 | (b[6] & 0x0F));
    b[8] = (unsigned char)(0x80 | (b[8] & 0x3F));
    format_uuid(b, to);
}

void uuid_from_parts(char to[UUID_BYTES], const char *kind, const char *a, const char *b,
                     const char *c)
{
    struct text t = {0};
    char hex[65];
    unsigned char bytes[16];

    text_addf(&t, "%s/%s/%s/%s", kind, a ? a : "", b ? b : "", c ? c : "");
    files_sha256_bytes(t.s, t.n_bytes, hex);
    text_release(&t);
    for (int i = 0; i < 16; i++) {
        unsigned v = 0;

        for (int k = 0; k < 2; k++) {
            char h = hex[2 * i + k];

            v = v << 4 | (unsigned)(h <= '9' ? h - '0' : h - 'a' + 10);
        }
        bytes[i] = (unsigned char)v;
    }
    bytes[6] = (unsigned char)(0x80 | (bytes[6] & 0x0F));
    bytes[8] = (unsigned char)(0x80 | (bytes[8] & 0x3F));
    format_uuid(bytes, to);
}

bool uuid_is_valid(const char *s)
{
    if (s == NULL || strlen(s) != UUID_BYTES - 1)
        return false;
    for (int i = 0; i < UUID_BYTES - 1; i++) {
        bool dash = i == 8 || i == 13 || i == 18 || i == 23;

        if (dash ? s[i] != '-' : strchr("0123456789abcdef", s[i]) == NULL)
            return false;
    }
    return true;
}
