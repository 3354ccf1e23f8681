/* SPDX-License-Identifier: 0BSD
 * Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby
 * granted. The software is provided "as is", without warranty of any kind: see LICENSE.
 *
 * Template of the hardware: fill in each body for your board. As it stands, the thermistor reads as a short circuit and
 * the supply as missing: the lamp stays dark, whatever is forgotten.
 */
#include "lc1_hal.h"

#include "lc1.h"

void lc1_hal_safe_outputs(void)
{
	/* Set the pins of all channels to the level that is dark, as outputs; the pin of the fan to full.
	 * Do not rely on timers here: after a reset they do not run yet. */
}

void lc1_hal_start(void)
{
	/* 1. Read and clear the flags of the reset cause; keep them for lc1_hal_reset_cause.
	 * 2. Brown-out detector on, above the lowest voltage at which the store may be written.
	 * 3. PWM timers at duty 0: the frequency and the bits that the design states (README.md).
	 * 4. ADC with the reference that feeds the pull-up of the thermistor.
	 * 5. Tick of 1 ms, interrupt or timer of the pulses of the fan, bus of the clock chip.
	 * 6. Watchdog of 1 s to 2 s, started last. */
}

uint32_t lc1_hal_ms(void)
{
	return 0U; /* Return the count of the tick; read it with interrupts off where it has more than one word. */
}

uint8_t lc1_hal_rtc(uint32_t *utc)
{
	*utc = 0U; /* Seconds since 2000-01-01 00:00 UTC by the clock chip. */
	return 0U; /* 1 if it answers, and its flag of a stopped oscillator is not set. */
}

uint16_t lc1_hal_adc(void)
{
	return 0U; /* 12 bits; shift the codes of a 10-bit ADC left by 2. */
}

uint16_t lc1_hal_tach(void)
{
	return 0U; /* Count of falling edges. */
}

uint16_t lc1_hal_vin_mv(void)
{
	return 0U; /* Code of the divider on the supply, times its factor. */
}

void lc1_hal_duty(uint8_t channel, uint16_t duty)
{
	/* A timer of N bits: compare = (duty << N) >> 15 in uint32_t; at 0 switch the output off, at 32768 on.
	 * Where N is below 14, add the rest to an accumulator of the channel and raise the code by one when it overflows. */
	(void)channel;
	(void)duty;
}

void lc1_hal_fan(uint16_t duty)
{
	(void)duty; /* 25 kHz for a fan with a PWM input. */
}

void lc1_hal_feed(void)
{
	/* Reload the watchdog. */
}

uint8_t lc1_hal_reset_cause(void)
{
	return (uint8_t)LC1_RESET_POWER;
}

uint8_t lc1_hal_store_read(uint8_t slot, uint8_t *bytes)
{
	(void)slot; /* Copy 16 bytes from EEPROM, FRAM or flash. */
	(void)bytes;
	return 0U;
}

uint8_t lc1_hal_store_write(uint8_t slot, const uint8_t *bytes)
{
	(void)slot; /* Flash: one page for several slots; erase a page only when its first slot is due. */
	(void)bytes;
	return 0U;
}
