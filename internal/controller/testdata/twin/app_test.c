/* SPDX-License-Identifier: 0BSD
 * Test of lc1_app.c on a PC: a board of variables in place of hardware. It prints "ok" if every requirement holds.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lc1_app.c"
#include "lc1_config.h"

static uint32_t now;
static uint32_t utc = 862657200U; /* in the morning ramp of the open case */
static uint16_t vin = 24000U;
static uint16_t adc = 1400U;
static uint8_t cause = LC1_RESET_POWER;
static uint8_t store[LC1_SLOTS][LC1_SLOT_SIZE];
static uint8_t bad_writes;
static unsigned writes;
static unsigned feeds;
static unsigned safe;
static unsigned duties;
static uint16_t lit;

void lc1_hal_safe_outputs(void)
{
	safe++;
	lit = 0U;
}

void lc1_hal_start(void)
{
}

uint32_t lc1_hal_ms(void)
{
	return now;
}

uint8_t lc1_hal_rtc(uint32_t *to)
{
	*to = utc + (now / 1000U);
	return 1U;
}

uint16_t lc1_hal_adc(void)
{
	return adc;
}

uint16_t lc1_hal_tach(void)
{
	return (uint16_t)((now / 20U) & 0xFFFFU);
}

uint16_t lc1_hal_vin_mv(void)
{
	return vin;
}

void lc1_hal_duty(uint8_t channel, uint16_t duty)
{
	duties++;
	if (channel == 0U) {
		lit = duty;
	}
}

void lc1_hal_fan(uint16_t duty)
{
	(void)duty;
}

void lc1_hal_feed(void)
{
	feeds++;
}

uint8_t lc1_hal_reset_cause(void)
{
	return cause;
}

uint8_t lc1_hal_store_read(uint8_t slot, uint8_t *bytes)
{
	(void)memcpy(bytes, store[slot], LC1_SLOT_SIZE);
	return 1U;
}

uint8_t lc1_hal_store_write(uint8_t slot, const uint8_t *bytes)
{
	uint8_t ok = 0U;

	if (bad_writes > 0U) {
		bad_writes--;
	} else {
		(void)memcpy(store[slot], bytes, LC1_SLOT_SIZE);
		writes++;
		ok = 1U;
	}
	return ok;
}

#define REQUIRE(x)                                                    \
	do {                                                          \
		if (!(x)) {                                           \
			(void)printf("line %d: %s\n", __LINE__, #x);  \
			exit(1);                                      \
		}                                                     \
	} while (0)

static void start(void)
{
	lc1_app_start(lc1_config_image, (uint16_t)LC1_CONFIG_SIZE);
}

/* Runs for some milliseconds, polling each 10 ms. */
static void run_for(uint32_t ms)
{
	for (uint32_t i = 0U; i < ms; i += 10U) {
		lc1_app_poll();
		now += 10U;
	}
}

static void normal_day(void)
{
	start();
	REQUIRE(safe == 1U);
	run_for(1000U);
	REQUIRE(feeds == 10U && duties == 60U && writes == 1U);
	REQUIRE(store[0][4] == 1U && get32(store[0], 0U) == 1U);
	run_for(600000U);
	REQUIRE(feeds == 6010U && writes == 2U && store[1][4] == 0U);
	REQUIRE(app.out.state == LC1_RUN && lit > 0U);
	now += 5000U; /* a pause: no burst of steps */
	feeds = 0U;
	run_for(1000U);
	REQUIRE(feeds >= 9U && feeds <= 11U);
	now = 0xFFFFFFFFU - 3000U; /* the counter wraps */
	app.next_ms = now;
	feeds = 0U;
	run_for(10000U);
	REQUIRE(feeds == 100U);
}

static void unclean_starts(void)
{
	for (uint8_t i = 1U; i <= 5U; i++) {
		start();
		run_for(3000U);
		REQUIRE(app.boots == i && (app.out.fault & LC1_FAULT_RESETS) == 0U);
	}
	REQUIRE(writes == 7U);
	start();
	run_for(3000U);
	REQUIRE((app.out.fault & LC1_FAULT_RESETS) != 0U && app.out.state == LC1_LIMP && writes == 7U);
	run_for(600000U);
	REQUIRE(app.out.fault == 0U && writes == 8U);
	start();
	run_for(3000U);
	REQUIRE(app.out.fault == 0U && app.boots == 1U && writes == 9U);
	cause = LC1_RESET_REQUESTED;
	start();
	run_for(3000U);
	REQUIRE(app.boots == 1U && writes == 9U);
	cause = LC1_RESET_POWER;
}

static void damaged_store(void)
{
	uint8_t newest = (uint8_t)((app.slot + LC1_SLOTS - 1U) % LC1_SLOTS);

	REQUIRE(read_store() == 1U && app.sequence == 9U);
	store[newest][4] = 77U;
	REQUIRE(read_store() == 0U && app.sequence == 8U);
	(void)memset(store, 0xFF, sizeof(store)); /* erased flash */
	REQUIRE(read_store() == 0U && app.sequence == 0U && app.slot == 0U);
	(void)memset(store, 0, sizeof(store));
	REQUIRE(read_store() == 0U);
	for (uint32_t i = 0U; i < 200U; i++) { /* around all slots, and over the end of the sequence */
		app.sequence = 0xFFFFFFFFU - 99U + i - 1U;
		app.slot = (uint8_t)(i % LC1_SLOTS);
		app.boots = (uint8_t)(i & 0xFFU);
		app.tries = 1U;
		write_store(vin);
		REQUIRE(read_store() == (uint8_t)i && app.slot == (uint8_t)((i + 1U) % LC1_SLOTS));
	}
	app.tries = 4U;
	bad_writes = 2U;
	writes = 0U;
	for (uint8_t i = 0U; i < 9U; i++) {
		write_store(vin);
	}
	REQUIRE(writes == 1U && bad_writes == 0U);
	app.tries = 4U;
	write_store(22499U);
	REQUIRE(writes == 1U);
	bad_writes = 99U;
	for (uint8_t i = 0U; i < 99U; i++) {
		write_store(vin);
	}
	REQUIRE(bad_writes == 95U); /* four slots are tried */
	bad_writes = 0U;
}

static void faults(void)
{
	start();
	run_for(40000U);
	REQUIRE(lit > 0U);
	vin = 1000U;
	run_for(300U);
	REQUIRE(lit == 0U && app.out.state == LC1_BROWN);
	vin = 24000U;
	run_for(40000U);
	REQUIRE(lit > 0U);
	app.core.config.p_max ^= 4U; /* a bit of the RAM flips */
	safe = 0U;
	run_for(11000U);
	feeds = 0U;
	run_for(2000U);
	REQUIRE(app.halted == 1U && feeds == 0U && safe > 100U && lit == 0U);
	start();
	run_for(40000U);
	app.core.gain = 40000U; /* not possible */
	app.core.config.fold_slew = 1U;
	run_for(300U);
	REQUIRE(app.halted == 1U && lit == 0U);
	lc1_app_start(lc1_config_image, 100U); /* truncated */
	run_for(1000U);
	REQUIRE(app.out.fault == LC1_FAULT_CONFIG && lit == 0U && app.halted == 0U);
}

int main(void)
{
	normal_day();
	unclean_starts();
	damaged_store();
	faults();
	(void)printf("ok\n");
	return 0;
}
