/* A folder of templates to spoil: a copy of the shipped ones below a temporary directory. */
#ifndef BL_TESTS_TEMPLATE_ROOM_H
#define BL_TESTS_TEMPLATE_ROOM_H

#include <glib.h>

struct template_room {
    char *dir;
};

/* Copies source (".../templates/en") to "en". */
void template_room_open(struct template_room *room, const char *source);
void template_room_close(struct template_room *room);

/* file is below the directory: "en/words". */
void template_room_write(const struct template_room *room, const char *file, const char *bytes,
                         gssize length);
void template_room_remove(const struct template_room *room, const char *file);
char *template_room_read(const struct template_room *room, const char *file);

/* Replaces the first `from`, which must be there. */
void template_room_replace(const struct template_room *room, const char *file, const char *from,
                           const char *to);

/* The faults of loading it, one a line, file names from below the directory; "" none. */
char *template_room_faults(const struct template_room *room);

#endif
