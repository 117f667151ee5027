/*
 * The daemon's log: one line an event on standard error, with the priority prefix that service
 * managers read ("<6>"). No full address and no text of a message ever goes in; control
 * characters are escaped here.
 */
#ifndef BEADLINE_LOG_H
#define BEADLINE_LOG_H

#include <glib.h>

enum bl_log_priority {
    BL_LOG_ERROR = 3,
    BL_LOG_WARNING = 4,
    BL_LOG_NOTICE = 5,
    BL_LOG_INFO = 6
};

void bl_log(enum bl_log_priority priority, const char *format, ...) G_GNUC_PRINTF(2, 3);

#endif
