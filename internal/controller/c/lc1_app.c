/* SPDX-License-Identifier: 0BSD
 * Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby
 * granted. The software is provided "as is", without warranty of any kind: see LICENSE.
 *
 * See lc1_app.h. A start is unclean if the lamp did not run for 10 min after it. The store has slots with a sequence
 * number and a CRC; the newest valid one counts, and each write goes to the next slot. At most two writes follow a
 * start, none from the fifth unclean one on, and none while the supply is low: 64 slots of 1e5 writes last for a power
 * cycle each 10 min over 60 years.
 */
#include "lc1_app.h"

#include "lc1.h"
#include "lc1_hal.h"

#define CLEAN_STEPS 6000U /* 10 min */
#define CHECK_STEPS 100U  /* distance of the checks of the configuration in RAM */
#define LATE_MS UINT32_C(1000)
#define BOOTS_MOST 5U
#define TRIES 4U /* slots that are tried for one record */
#define CRC_AT 12U

/* Bytes of a slot: sequence u32, unclean starts u8, reset cause u8, zero u16, zero u32, CRC-32 u32. */
typedef struct {
	lc1_core core;
	lc1_outputs out;
	uint32_t next_ms;
	uint32_t config_crc;
	uint32_t sequence; /* of the newest record */
	uint16_t steps;    /* since the start, up to CLEAN_STEPS */
	uint16_t check_in; /* steps until the next check of the configuration */
	uint8_t slot;      /* where the next record goes */
	uint8_t boots;     /* unclean starts to store */
	uint8_t tries;     /* slots left to try; 0: nothing to store */
	uint8_t cause;
	uint8_t halted; /* not plausible: the watchdog will reset */
} lc1_app;

static lc1_app app;

static uint32_t get32(const uint8_t *b, uint8_t at)
{
	return (uint32_t)b[at] | ((uint32_t)b[at + 1U] << 8) | ((uint32_t)b[at + 2U] << 16) | ((uint32_t)b[at + 3U] << 24);
}

static void put32(uint8_t *b, uint8_t at, uint32_t v)
{
	b[at] = (uint8_t)(v & 0xFFU);
	b[at + 1U] = (uint8_t)((v >> 8) & 0xFFU);
	b[at + 2U] = (uint8_t)((v >> 16) & 0xFFU);
	b[at + 3U] = (uint8_t)((v >> 24) & 0xFFU);
}

static uint32_t config_crc(void)
{
	return lc1_crc32((const uint8_t *)&app.core.config, (uint16_t)sizeof(lc1_config));
}

/* Finds the newest record; returns its count of unclean starts, 0 where there is none. */
static uint8_t read_store(void)
{
	uint8_t bytes[LC1_SLOT_SIZE] = {0U};
	uint8_t found = 0U;
	uint8_t boots = 0U;

	app.slot = 0U;
	app.sequence = 0U;
	for (uint8_t i = 0U; i < LC1_SLOTS; i++) {
		if ((lc1_hal_store_read(i, bytes) != 0U) && (get32(bytes, CRC_AT) == lc1_crc32(bytes, CRC_AT))) {
			const uint32_t sequence = get32(bytes, 0U);

			if ((found == 0U) || ((sequence - app.sequence) < UINT32_C(0x80000000))) {
				found = 1U;
				app.sequence = sequence;
				app.slot = (uint8_t)((i + 1U) % LC1_SLOTS);
				boots = bytes[4];
			}
		}
	}
	return boots;
}

/* Writes what is due, while the supply is good. */
static void write_store(uint16_t vin_mv)
{
	if ((app.tries > 0U) && (app.core.ok == 1U) && (vin_mv >= app.core.config.vin_ok)) {
		uint8_t bytes[LC1_SLOT_SIZE] = {0U};

		put32(bytes, 0U, app.sequence + 1U);
		bytes[4] = app.boots;
		bytes[5] = app.cause;
		put32(bytes, CRC_AT, lc1_crc32(bytes, CRC_AT));
		if (lc1_hal_store_write(app.slot, bytes) != 0U) {
			app.sequence++;
			app.tries = 0U;
		} else {
			app.tries--;
		}
		app.slot = (uint8_t)((app.slot + 1U) % LC1_SLOTS);
	}
}

void lc1_app_start(const uint8_t *image, uint16_t size)
{
	uint8_t boots;

	lc1_hal_safe_outputs();
	lc1_hal_start();
	app.cause = lc1_hal_reset_cause();
	boots = read_store();
	lc1_init(&app.core, image, size, (uint16_t)boots);
	app.config_crc = config_crc();
	app.boots = boots;
	app.tries = 0U;
	if ((app.cause != LC1_RESET_REQUESTED) && (boots < BOOTS_MOST)) {
		app.boots = (uint8_t)(boots + 1U);
		app.tries = TRIES;
	}
	app.steps = 0U;
	app.check_in = CHECK_STEPS;
	app.halted = 0U;
	app.next_ms = lc1_hal_ms();
}

/* 1 if outputs and state are possible, and the configuration in RAM is the one that was loaded. */
static uint8_t pass_ok(void)
{
	uint8_t ok = lc1_plausible(&app.core, &app.out);

	app.check_in--;
	if (app.check_in == 0U) {
		app.check_in = CHECK_STEPS;
		if (config_crc() != app.config_crc) {
			ok = 0U;
		}
	}
	return ok;
}

static void set_outputs(void)
{
	for (uint8_t i = 0U; i < LC1_MAX_CHANNELS; i++) {
		lc1_hal_duty(i, app.out.duty[i]);
	}
	lc1_hal_fan(app.out.fan);
}

static void count_steps(void)
{
	if (app.steps < CLEAN_STEPS) {
		app.steps++;
		if ((app.steps == CLEAN_STEPS) && (app.boots != 0U)) {
			app.boots = 0U;
			app.tries = TRIES;
		}
	}
}

static void pass(void)
{
	lc1_inputs in = {0U, 0U, 0U, 0U, 0U, 0U};

	in.now_ms = lc1_hal_ms();
	in.rtc_ok = lc1_hal_rtc(&in.utc);
	in.adc = lc1_hal_adc();
	in.tach = lc1_hal_tach();
	in.vin_mv = lc1_hal_vin_mv();
	lc1_step(&app.core, &in, &app.out);
	if (pass_ok() == 1U) {
		set_outputs();
		lc1_hal_feed();
		count_steps();
		write_store(in.vin_mv);
	} else {
		app.halted = 1U;
	}
}

void lc1_app_poll(void)
{
	uint32_t late = lc1_hal_ms() - app.next_ms;

	if (app.halted != 0U) {
		lc1_hal_safe_outputs();
	} else if (late < UINT32_C(0x80000000)) {
		app.next_ms += LC1_TICK_MS;
		if (late > LATE_MS) {
			app.next_ms += late; /* no burst of steps after a pause */
		}
		pass();
	} else {
		/* not due yet */
	}
}
