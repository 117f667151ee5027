/*
 * The clock's one door, and chance's.
 *
 * Whoever needs the time or a random number is handed one of these, so the same code runs under
 * the wall clock, in a rehearsal and in a simulation.
 */
#ifndef BEADLINE_CLOCK_H
#define BEADLINE_CLOCK_H

#include <stdbool.h>
#include <stdint.h>

struct bl_clock {
    int64_t (*now)(void *context);      /* seconds since 1970 UTC */
    int64_t (*boottime)(void *context); /* milliseconds since boot, counted through suspend */
    bool (*synchronised)(
        void *context); /* the kernel says a time source disciplines the clock */
    void *context;
};

/* The machine's clock: CLOCK_REALTIME, CLOCK_BOOTTIME, adjtimex. */
struct bl_clock bl_clock_machine(void);

/* A clock that starts at *at and moves as its owner changes *at; always synchronised. */
struct bl_clock bl_clock_false(int64_t *at);

struct bl_chance {
    uint64_t (*next)(void *context); /* 64 random bits */
    void *context;
};

/* The kernel's random numbers. */
struct bl_chance bl_chance_machine(void);

/* A repeatable sequence (SplitMix64) from *state. */
struct bl_chance bl_chance_seeded(uint64_t *state);

/* A new message key: 128 random bits as 32 hexadecimal digits and a NUL. */
void bl_chance_key(struct bl_chance chance, char key[33]);

#endif
