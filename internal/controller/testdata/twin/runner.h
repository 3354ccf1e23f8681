/* SPDX-License-Identifier: 0BSD
 * Test runner: computes the CRC-32 over the outputs of the core for each case of cases.c, on any target.
 */
#ifndef RUNNER_H
#define RUNNER_H

#include <stdint.h>

#ifdef __AVR__
#include <avr/pgmspace.h>
#define FLASH PROGMEM
#define READ8(p) pgm_read_byte(p)
#define READ32(p) pgm_read_dword(p)
#else
#define FLASH
#define READ8(p) (*(p))
#define READ32(p) (*(p))
#endif

#define IMAGE_ROOM 1024U
#define SIGNALS 5U /* vin_mV, rtc_ok, utc_shift, rpm, adc */

/* Nodes of five signals, one after the other: count, then pairs of tick and value. */
typedef struct {
	const uint8_t *image;
	const uint32_t *nodes; /* 0: a random course from seed */
	uint32_t ticks;
	uint32_t utc;
	uint32_t seed;
	uint16_t size;
	uint16_t boots;
} test_case;

extern const test_case test_cases[];
extern const uint16_t test_count;

void port_text(const char *text);
void run_all(void);

#endif
