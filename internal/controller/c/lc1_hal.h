/* SPDX-License-Identifier: 0BSD
 * Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby
 * granted. The software is provided "as is", without warranty of any kind: see LICENSE.
 *
 * What the controller asks of the hardware: 13 functions. lc1_hal_template.c has a body for each, which stays dark
 * until it is filled in. None of them may wait for longer than some milliseconds: the watchdog counts.
 */
#ifndef LC1_HAL_H
#define LC1_HAL_H

#include <stdint.h>

#define LC1_SLOTS 64U     /* places in the persistent store */
#define LC1_SLOT_SIZE 16U /* bytes of each */

/* Causes of a reset. */
#define LC1_RESET_POWER 0U     /* power came, or cause not known */
#define LC1_RESET_WATCHDOG 1U  /* the program stopped */
#define LC1_RESET_BROWNOUT 2U  /* supply of the controller too low */
#define LC1_RESET_REQUESTED 3U /* button, programmer, update: not counted as unclean */

/* All channels dark, fan at full duty. Called first after a reset, and when a pass is not plausible. It must work
 * before lc1_hal_start: pull-down resistors have kept the channels dark until here. */
void lc1_hal_safe_outputs(void);

/* Clocks, timers, ADC, clock chip, brown-out detector, watchdog of 1 s to 2 s. */
void lc1_hal_start(void);

/* Milliseconds since some moment; wraps at 2^32. */
uint32_t lc1_hal_ms(void);

/* Sets *utc to seconds since 2000-01-01 00:00 UTC; 1 if the clock answers and did not stop. The clock runs in UTC: the
 * zone table of the configuration makes the local time. */
uint8_t lc1_hal_rtc(uint32_t *utc);

/* Thermistor with 12 bits, 0 to 4095: thermistor to ground, pull-up to the reference of the ADC. A mean of 8 to 16
 * conversions is of use. */
uint16_t lc1_hal_adc(void);

/* Pulses of the fan since the start, two a revolution; wraps at 2^16. 0 without a tachometer. */
uint16_t lc1_hal_tach(void);

/* Supply of the drivers in mV, above 65535 as 65535. */
uint16_t lc1_hal_vin_mv(void);

/* Duty of a channel, Q15: 0 is dark for good, 32768 is always on. */
void lc1_hal_duty(uint8_t channel, uint16_t duty);

/* Duty of the fan, Q15. */
void lc1_hal_fan(uint16_t duty);

/* Feeds the watchdog. Nobody else may. */
void lc1_hal_feed(void);

/* One of the causes of a reset. */
uint8_t lc1_hal_reset_cause(void);

/* Reads or writes a slot of the persistent store; 1 if that was possible. */
uint8_t lc1_hal_store_read(uint8_t slot, uint8_t *bytes);
uint8_t lc1_hal_store_write(uint8_t slot, const uint8_t *bytes);

#endif
