/*
 * Date arithmetic: the calendar under every "in six months" of the plan. Days are counted from
 * 1970-01-01 in the proleptic Gregorian calendar; no zone is known here.
 */
#include "beadline/civil.h"

#include "beadline/error.h"
#include "beadline/text.h"

#define ERA_DAYS   146097 /* 400 Gregorian years */
#define EPOCH_DAYS 719468 /* 0000-03-01 to 1970-01-01 */

static bool leap(int year)
{
    return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

static int month_days(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && leap(year));
}

static int64_t floor_div(int64_t a, int64_t b)
{
    return a / b - (a % b < 0);
}

/* Years are taken to begin in March, so that the leap day is a year's last; from there the
 * months' lengths repeat every five (153 days), the years every 400 (ERA_DAYS). */
int32_t bl_date_of(int year, int month, int day)
{
    int64_t y = (int64_t)year - (month <= 2);
    int64_t era = floor_div(y, 400);
    int64_t year_of_era = y - era * 400;
    int64_t day_of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
    int64_t day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    return (int32_t)(era * ERA_DAYS + day_of_era - EPOCH_DAYS);
}

bool bl_date_valid(int year, int month, int day)
{
    return year >= 1 && year <= 9999 && month >= 1 && month <= 12 && day >= 1 &&
           day <= month_days(year, month);
}

void bl_date_split(int32_t date, int *year, int *month, int *day)
{
    int64_t days = (int64_t)date + EPOCH_DAYS;
    int64_t era = floor_div(days, ERA_DAYS);
    int64_t day_of_era = days - era * ERA_DAYS;
    int64_t year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    int64_t day_of_year =
        day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    int64_t from_march = (5 * day_of_year + 2) / 153;
    *day = (int)(day_of_year - (153 * from_march + 2) / 5 + 1);
    *month = (int)(from_march < 10 ? from_march + 3 : from_march - 9);
    *year = (int)(year_of_era + era * 400 + (*month <= 2));
}

int bl_date_weekday(int32_t date)
{
    /* 1970-01-01 was a Thursday. */
    int64_t from_monday = (int64_t)date + 3;
    return (int)(from_monday - 7 * floor_div(from_monday, 7)) + 1;
}

int32_t bl_date_add_months(int32_t date, int months)
{
    if (date == BL_NO_DATE) {
        return BL_NO_DATE;
    }
    int year;
    int month;
    int day;
    bl_date_split(date, &year, &month, &day);
    int64_t count = (int64_t)year * 12 + month - 1 + months;
    int64_t new_year = floor_div(count, 12);
    if (new_year < 1 || new_year > 9999) {
        return new_year < 1 ? bl_date_of(1, 1, 1) : bl_date_of(9999, 12, 31);
    }
    int new_month = (int)(count - new_year * 12) + 1;
    return bl_date_of((int)new_year, new_month, MIN(day, month_days((int)new_year, new_month)));
}

static int digits(const char *text, int count)
{
    int value = 0;
    for (int i = 0; i < count; i++) {
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

static bool like(const char *text, const char *pattern)
{
    for (; *pattern; pattern++, text++) {
        if (*pattern == '9' ? !g_ascii_isdigit(*text) : *text != *pattern) {
            return false;
        }
    }
    return *text == '\0';
}

bool bl_date_parse(const char *text, int32_t *date, GError **error)
{
    if (like(text, "9999-99-99")) {
        int year = digits(text, 4);
        int month = digits(text + 5, 2);
        int day = digits(text + 8, 2);
        if (bl_date_valid(year, month, day)) {
            *date = bl_date_of(year, month, day);
            return true;
        }
    }
    g_autofree char *shown = bl_text_shown(text);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "\"%s\" is no date: write year-month-day, as in 2026-11-25", shown);
    return false;
}

char *bl_date_format(int32_t date)
{
    int year;
    int month;
    int day;
    bl_date_split(date, &year, &month, &day);
    return g_strdup_printf("%04d-%02d-%02d", year, month, day);
}
