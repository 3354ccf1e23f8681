/* SPDX-License-Identifier: 0BSD
 * Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby
 * granted. The software is provided "as is", without warranty of any kind: see LICENSE.
 *
 * Controller core LC1: one step of 100 ms in whole numbers of at most 32 bits. No heap, no recursion, no
 * floating point, loops bounded by constants, the whole state in one lc1_core. It needs no operating system and calls
 * nothing: the caller reads the inputs and sets the outputs.
 */
#ifndef LC1_H
#define LC1_H

#include <stdint.h>

#define LC1_ONE 32768U        /* 1 in Q15 */
#define LC1_TICK_MS UINT32_C(100)     /* length of a step */
#define LC1_MAX_CHANNELS 6U
#define LC1_MAX_POINTS 16U
#define LC1_MAX_ROWS 8U
#define LC1_MAX_ZONE 24U
#define LC1_LUT_ROWS 257U

/* States. */
#define LC1_OFF 0U   /* configuration bad, or over-temperature: dark */
#define LC1_BROWN 1U /* supply too low: dark */
#define LC1_LIMP 2U  /* a fault is present: reduced, constant or safe level */
#define LC1_SOFT 3U  /* soft start */
#define LC1_RUN 4U

/* Fault bits. */
#define LC1_FAULT_CONFIG 1U
#define LC1_FAULT_CLOCK 2U
#define LC1_FAULT_NTC_OPEN 4U
#define LC1_FAULT_NTC_SHORT 8U
#define LC1_FAULT_OVERTEMP 16U
#define LC1_FAULT_FAN 32U
#define LC1_FAULT_BROWNOUT 64U
#define LC1_FAULT_RESETS 128U
#define LC1_FAULT_CLOCK_JUMP 256U

/* What is read before a step. */
typedef struct {
	uint32_t now_ms; /* free running, wraps */
	uint32_t utc;    /* seconds since 2000-01-01 00:00 UTC */
	uint16_t adc;    /* code of the thermistor, 0 to 4095; hot is low */
	uint16_t tach;   /* pulses of the fan since the start, wraps */
	uint16_t vin_mv; /* supply */
	uint8_t rtc_ok;  /* 1: the clock answers and did not stop */
} lc1_inputs;

/* What is set after a step; duties are Q15. */
typedef struct {
	uint16_t duty[LC1_MAX_CHANNELS];
	uint16_t fan;
	uint16_t state;
	uint16_t fault;
} lc1_outputs;

typedef struct {
	uint16_t code;
	uint16_t value;
} lc1_row;

typedef struct {
	uint32_t second;
	uint16_t level;
} lc1_point;

typedef struct {
	uint32_t utc;
	uint32_t offset; /* two's complement */
} lc1_zone;

typedef struct {
	lc1_point points[LC1_MAX_POINTS];
	uint16_t weight;
	uint16_t min_duty;
	uint16_t off_below;
	uint8_t count;
	uint8_t curve; /* 0 linear, 1 lightness */
} lc1_channel;

/* The configuration, as lc1_load reads it from its image. */
typedef struct {
	lc1_channel channels[LC1_MAX_CHANNELS];
	lc1_row fold[LC1_MAX_ROWS];
	lc1_row fan_curve[LC1_MAX_ROWS];
	lc1_zone zone[LC1_MAX_ZONE];
	uint32_t p_max;
	uint32_t start_day;
	uint32_t min_utc;
	uint16_t slew;
	uint16_t soft_step;
	uint16_t fold_slew;
	uint16_t limp_level;
	uint16_t fanfail_level;
	uint16_t days;
	uint16_t from;
	uint16_t adc_short;
	uint16_t adc_trip;
	uint16_t adc_release;
	uint16_t adc_open;
	uint16_t fan_min;
	uint16_t fan_hyst;
	uint16_t fan_kick;
	uint16_t fan_delay;
	uint16_t fan_min_rpm;
	uint16_t vin_low;
	uint16_t vin_ok;
	uint8_t has_tach;
	uint8_t channel_count;
	uint8_t fold_count;
	uint8_t fan_count;
	uint8_t zone_count;
} lc1_config;

/* The whole state between steps. */
typedef struct {
	lc1_config config;
	uint32_t last_ms;
	uint32_t last_utc;
	uint16_t setting[LC1_MAX_CHANNELS];
	uint16_t gain;
	uint16_t soft;
	uint16_t n_open;
	uint16_t n_short;
	uint16_t n_sane;
	uint16_t n_hot;
	uint16_t n_cool;
	uint16_t n_low;
	uint16_t n_good;
	uint16_t brown_left;
	uint16_t dips;
	uint16_t jump_left;
	uint16_t safe_left;
	uint16_t fan_adc;
	uint16_t fan_want;
	uint16_t kick_left;
	uint16_t fan_on;
	uint16_t tach_count;
	uint16_t last_tach;
	uint16_t slow_fan;
	uint16_t good_fan;
	uint16_t retry;
	uint16_t ntc; /* LC1_FAULT_NTC_OPEN, LC1_FAULT_NTC_SHORT */
	uint8_t trip;
	uint8_t brown;
	uint8_t seen_utc;
	uint8_t fan_fault;
	uint8_t begun;
	uint8_t ok; /* the configuration is valid */
} lc1_core;

/* Table of CIE 1976 lightness, in lc1_lut.c. */
extern const uint16_t lc1_lut[LC1_LUT_ROWS];

/* CRC-32 (reflected 0xEDB88320, initial value and final xor 0xFFFFFFFF) of size bytes. */
uint32_t lc1_crc32(const uint8_t *data, uint16_t size);

/* Reads an image; 1 if frame, CRC and every bound are right. On 0 the configuration must not be used. */
uint8_t lc1_load(lc1_config *config, const uint8_t *image, uint16_t size);

/* Starts the core with an image, after a number of unclean starts. With a bad image it stays dark for good. */
void lc1_init(lc1_core *core, const uint8_t *image, uint16_t size, uint16_t boots);

/* One step of 100 ms. */
void lc1_step(lc1_core *core, const lc1_inputs *in, lc1_outputs *out);

/* 1 if outputs and state are possible ones: what a watchdog is fed for. */
uint8_t lc1_plausible(const lc1_core *core, const lc1_outputs *out);

#endif
