/*
 * Cleanup by scope for our own structs: `BL_AUTO(bl_zone) *zone = ...;` calls bl_zone_free at
 * the end of the scope. GLib's g_autoptr asks for a typedef, and structs have none here.
 */
#ifndef BEADLINE_CLEANUP_H
#define BEADLINE_CLEANUP_H

/* Declares the scope cleanup of `struct name` with its `name_free`; stands in name's header. */
#define BL_DEFINE_AUTO(name)                                                                   \
    static inline void name##_auto_(struct name **p)                                           \
    {                                                                                          \
        name##_free(*p);                                                                       \
    }                                                                                          \
    struct name

#define BL_AUTO(name) __attribute__((cleanup(name##_auto_))) struct name

#endif
