/* SPDX-License-Identifier: 0BSD
 * Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby
 * granted. The software is provided "as is", without warranty of any kind: see LICENSE.
 *
 * Controller core LC1: see lc1.h. Every product of 16-bit values is taken in uint32_t, so that int may have 16 bits.
 */
#include "lc1.h"

#define IMAGE_VERSION 1U
#define IMAGE_FIXED 62U /* bytes before the tables */
#define IMAGE_CRC 4U
#define IMAGE_MOST 946U

#define DAY_S UINT32_C(86400)
#define OFFSET_MOST UINT32_C(64800)

/* Times and counts in steps, unless stated. */
#define NTC_FAULT 10U
#define NTC_CLEAR 100U
#define TRIP_STEPS 10U
#define RELEASE_STEPS 600U
#define BROWN_STEPS 2U
#define BROWN_WAIT 50U
#define BROWN_LONG_WAIT 600U
#define BROWN_MANY 5U
#define BROWN_MEMORY 6000U
#define BROWN_MOST 255U
#define BOOTS_MANY 5U
#define SAFE_STEPS 6000U
#define JUMP_SECONDS UINT32_C(5)
#define JUMP_STEPS 600U
#define FAN_ON_MOST 60000U
#define TACH_STEPS 10U
#define RPM_PER_PULSE UINT32_C(30)
#define FAN_SAMPLES 3U
#define FAN_RETRY 300U
#define COUNT_MOST 65535U

uint32_t lc1_crc32(const uint8_t *data, uint16_t size)
{
	uint32_t crc = UINT32_C(0xFFFFFFFF);

	for (uint16_t i = 0U; i < size; i++) {
		crc ^= (uint32_t)data[i];
		for (uint8_t bit = 0U; bit < 8U; bit++) {
			if ((crc & UINT32_C(1)) != UINT32_C(0)) {
				crc = (crc >> 1) ^ UINT32_C(0xEDB88320);
			} else {
				crc = crc >> 1;
			}
		}
	}
	return crc ^ UINT32_C(0xFFFFFFFF);
}

/* A place in an image: values past its end are 0 and set over. */
typedef struct {
	const uint8_t *data;
	uint16_t at;
	uint16_t end;
	uint8_t over;
} reader;

static uint8_t take8(reader *r)
{
	uint8_t v = 0U;

	if (r->at < r->end) {
		v = r->data[r->at];
		r->at++;
	} else {
		r->over = 1U;
	}
	return v;
}

static uint16_t take16(reader *r)
{
	uint16_t low = (uint16_t)take8(r);
	uint16_t high = (uint16_t)take8(r);

	return (uint16_t)(low | (uint16_t)(high << 8));
}

static uint32_t take32(reader *r)
{
	uint32_t low = (uint32_t)take16(r);
	uint32_t high = (uint32_t)take16(r);

	return low | (high << 16);
}

/* Frame of an image: length, magic, version, CRC. */
static uint8_t frame_ok(const uint8_t *image, uint16_t size)
{
	uint8_t ok = 0U;
	reader r;

	if ((size >= (IMAGE_FIXED + IMAGE_CRC)) && (size <= IMAGE_MOST)) {
		const uint16_t end = (uint16_t)(size - IMAGE_CRC);

		r.data = image;
		r.at = 4U;
		r.end = size;
		r.over = 0U;
		ok = 1U;
		if ((image[0] != 0x4CU) || (image[1] != 0x43U) || (image[2] != 0x31U) || (image[3] != 0x43U)) {
			ok = 0U; /* "LC1C" */
		}
		if (take16(&r) != IMAGE_VERSION) {
			ok = 0U;
		}
		if (take16(&r) != size) {
			ok = 0U;
		}
		r.at = end;
		if (take32(&r) != lc1_crc32(image, end)) {
			ok = 0U;
		}
	}
	return ok;
}

/* Reads a table of rows with rising codes and values of at most 1. */
static uint8_t load_rows(reader *r, lc1_row *rows, uint8_t count)
{
	uint8_t ok = 1U;

	for (uint8_t i = 0U; i < count; i++) {
		rows[i].code = take16(r);
		rows[i].value = take16(r);
		if (rows[i].value > LC1_ONE) {
			ok = 0U;
		}
		if ((i > 0U) && (rows[i].code <= rows[i - 1U].code)) {
			ok = 0U;
		}
	}
	return ok;
}

static uint8_t load_zone(reader *r, lc1_config *c)
{
	uint8_t ok = 1U;

	for (uint8_t i = 0U; i < c->zone_count; i++) {
		const uint32_t utc = take32(r);
		const uint32_t off = take32(r);

		c->zone[i].utc = utc;
		c->zone[i].offset = off;
		if ((off > OFFSET_MOST) && (off < (UINT32_C(0) - OFFSET_MOST))) {
			ok = 0U;
		}
		if ((i > 0U) && (c->zone[i].utc <= c->zone[i - 1U].utc)) {
			ok = 0U;
		}
	}
	return ok;
}

static uint8_t load_channel(reader *r, lc1_channel *ch)
{
	uint8_t ok = 1U;

	ch->count = take8(r);
	ch->curve = take8(r);
	ch->weight = take16(r);
	ch->min_duty = take16(r);
	ch->off_below = take16(r);
	if ((ch->count < 1U) || (ch->count > LC1_MAX_POINTS)) {
		ch->count = 0U;
		ok = 0U;
	}
	if ((ch->curve > 1U) || (ch->min_duty > LC1_ONE) || (ch->off_below > LC1_ONE)) {
		ok = 0U;
	}
	for (uint8_t i = 0U; i < ch->count; i++) {
		ch->points[i].second = take32(r);
		ch->points[i].level = take16(r);
		if ((ch->points[i].second >= DAY_S) || (ch->points[i].level > LC1_ONE)) {
			ok = 0U;
		}
		if ((i > 0U) && (ch->points[i].second <= ch->points[i - 1U].second)) {
			ok = 0U;
		}
	}
	return ok;
}

static uint8_t step_ok(uint16_t step)
{
	return ((step >= 1U) && (step <= LC1_ONE)) ? 1U : 0U;
}

/* Reads the values before the tables. */
static uint8_t load_fixed(reader *r, lc1_config *c)
{
	uint8_t ok = 1U;

	c->channel_count = take8(r);
	c->fold_count = take8(r);
	c->fan_count = take8(r);
	c->zone_count = take8(r);
	c->p_max = take32(r);
	c->start_day = take32(r);
	c->min_utc = take32(r);
	c->slew = take16(r);
	c->soft_step = take16(r);
	c->fold_slew = take16(r);
	c->limp_level = take16(r);
	c->fanfail_level = take16(r);
	c->days = take16(r);
	c->from = take16(r);
	c->adc_short = take16(r);
	c->adc_trip = take16(r);
	c->adc_release = take16(r);
	c->adc_open = take16(r);
	c->fan_min = take16(r);
	c->fan_hyst = take16(r);
	c->fan_kick = take16(r);
	c->fan_delay = take16(r);
	c->fan_min_rpm = take16(r);
	c->vin_low = take16(r);
	c->vin_ok = take16(r);
	c->has_tach = take8(r);
	if ((take8(r) != 0U) || (c->has_tach > 1U)) {
		ok = 0U;
	}
	if ((c->channel_count < 1U) || (c->channel_count > LC1_MAX_CHANNELS) || (c->zone_count < 1U) ||
	    (c->zone_count > LC1_MAX_ZONE)) {
		ok = 0U;
	}
	if ((c->fold_count < 2U) || (c->fold_count > LC1_MAX_ROWS) || (c->fan_count < 2U) ||
	    (c->fan_count > LC1_MAX_ROWS)) {
		ok = 0U;
	}
	return ok;
}

/* Bounds of the values before the tables. */
static uint8_t fixed_ok(const lc1_config *c)
{
	uint8_t ok = 1U;

	if ((step_ok(c->slew) == 0U) || (step_ok(c->soft_step) == 0U) || (step_ok(c->fold_slew) == 0U)) {
		ok = 0U;
	}
	if ((c->p_max < UINT32_C(1)) || (c->limp_level > LC1_ONE) || (c->fanfail_level > LC1_ONE)) {
		ok = 0U;
	}
	if ((c->days < 1U) || (c->days > 1000U) || (c->from > LC1_ONE) || (c->fan_min > LC1_ONE)) {
		ok = 0U;
	}
	if ((c->adc_short < 1U) || (c->adc_short >= c->adc_trip) || (c->adc_trip >= c->adc_release) ||
	    (c->adc_release >= c->adc_open) || (c->adc_open > 4095U)) {
		ok = 0U;
	}
	if ((c->vin_low < 1U) || (c->vin_low >= c->vin_ok)) {
		ok = 0U;
	}
	return ok;
}

uint8_t lc1_load(lc1_config *config, const uint8_t *image, uint16_t size)
{
	uint8_t ok = frame_ok(image, size);
	reader r;

	if (ok == 1U) {
		r.data = image;
		r.at = 8U;
		r.end = (uint16_t)(size - IMAGE_CRC);
		r.over = 0U;
		ok = load_fixed(&r, config);
		if (ok == 1U) { /* the counts fit their tables */
			ok = fixed_ok(config);
			ok &= load_rows(&r, config->fold, config->fold_count);
			ok &= load_rows(&r, config->fan_curve, config->fan_count);
			ok &= load_zone(&r, config);
			for (uint8_t i = 0U; i < config->channel_count; i++) {
				ok &= load_channel(&r, &config->channels[i]);
			}
		}
		if ((r.over != 0U) || (r.at != r.end)) {
			ok = 0U;
		}
	}
	return ok;
}

/* Sets every byte of a core, with those between its members, so that equal states have equal checksums. */
static void clear(lc1_core *core)
{
	uint8_t *bytes = (uint8_t *)core;

	for (uint16_t i = 0U; i < (uint16_t)sizeof(lc1_core); i++) {
		bytes[i] = 0U;
	}
}

void lc1_init(lc1_core *core, const uint8_t *image, uint16_t size, uint16_t boots)
{
	clear(core);
	core->ok = lc1_load(&core->config, image, size);
	if (boots >= BOOTS_MANY) {
		core->safe_left = SAFE_STEPS;
	}
}

/* Counts a sample that is in a row with those before it, or ends the row. */
static uint16_t count(uint16_t n, uint8_t hit)
{
	uint16_t next = 0U;

	if (hit != 0U) {
		next = (n < COUNT_MOST) ? (uint16_t)(n + 1U) : n;
	}
	return next;
}

static uint16_t down(uint16_t n)
{
	return (n > 0U) ? (uint16_t)(n - 1U) : 0U;
}

static uint32_t smaller(uint32_t a, uint32_t b)
{
	return (a < b) ? a : b;
}

/* The value at x of span on the line from y0 to y1, rounded half away from y0. */
static uint32_t between(uint32_t y0, uint32_t y1, uint32_t x, uint32_t span)
{
	uint32_t v;

	if (y1 >= y0) {
		v = y0 + ((((y1 - y0) * x) + (span / UINT32_C(2))) / span);
	} else {
		v = y0 - ((((y0 - y1) * x) + (span / UINT32_C(2))) / span);
	}
	return v;
}

/* The value of a table at a code, constant beyond its ends. */
static uint32_t table_at(const lc1_row *rows, uint8_t rows_count, uint16_t code)
{
	uint32_t v = (uint32_t)rows[rows_count - 1U].value;
	uint8_t found = 0U;

	if (code <= rows[0].code) {
		v = (uint32_t)rows[0].value;
		found = 1U;
	}
	for (uint8_t i = 1U; (i < rows_count) && (found == 0U); i++) {
		if (code <= rows[i].code) {
			v = between((uint32_t)rows[i - 1U].value, (uint32_t)rows[i].value,
				    (uint32_t)code - (uint32_t)rows[i - 1U].code,
				    (uint32_t)rows[i].code - (uint32_t)rows[i - 1U].code);
			found = 1U;
		}
	}
	return v;
}

/* The level of the programme of a channel at a second of the local day. */
static uint32_t level_at(const lc1_channel *ch, uint32_t second)
{
	uint32_t x = second;
	uint8_t last = (uint8_t)(ch->count - 1U);
	uint8_t from = last;
	uint32_t v = (uint32_t)ch->points[0].level;

	if (last > 0U) {
		uint32_t x1;
		uint8_t to;

		if (second < ch->points[0].second) {
			x = second + DAY_S; /* the last point of yesterday */
		} else {
			for (uint8_t i = 0U; i <= last; i++) {
				if (ch->points[i].second <= second) {
					from = i;
				}
			}
		}
		to = (from == last) ? 0U : (uint8_t)(from + 1U);
		x1 = ch->points[to].second;
		if (to == 0U) {
			x1 += DAY_S;
		}
		v = between((uint32_t)ch->points[from].level, (uint32_t)ch->points[to].level,
			    x - ch->points[from].second, x1 - ch->points[from].second);
	}
	return v;
}

static uint32_t most_level(const lc1_channel *ch)
{
	uint32_t most = UINT32_C(0);

	for (uint8_t i = 0U; i < ch->count; i++) {
		if ((uint32_t)ch->points[i].level > most) {
			most = (uint32_t)ch->points[i].level;
		}
	}
	return most;
}

static uint32_t zone_offset(const lc1_config *c, uint32_t utc)
{
	uint32_t off = c->zone[0].offset;

	for (uint8_t i = 1U; i < c->zone_count; i++) {
		if (c->zone[i].utc <= utc) {
			off = c->zone[i].offset;
		}
	}
	return off;
}

/* The factor of acclimation on a local day. */
static uint32_t acclimation(const lc1_config *c, uint32_t day)
{
	uint32_t a;

	if (day < c->start_day) {
		a = (uint32_t)c->from;
	} else if ((day - c->start_day) >= (uint32_t)c->days) {
		a = (uint32_t)LC1_ONE;
	} else {
		a = (uint32_t)c->from +
		    ((((uint32_t)LC1_ONE - (uint32_t)c->from) * (day - c->start_day)) / (uint32_t)c->days);
	}
	return a;
}

/* v moved towards a target by at most a step. */
static uint16_t towards(uint16_t v, uint32_t to, uint16_t step)
{
	uint32_t now = (uint32_t)v;

	if (now < to) {
		now += smaller(to - now, (uint32_t)step);
	} else {
		now -= smaller(now - to, (uint32_t)step);
	}
	return (uint16_t)now;
}

/* Watches the thermistor for an open and a short circuit; 1 if the sample is between both. */
static uint8_t step_sensor(lc1_core *s, uint16_t adc)
{
	uint8_t open = (adc >= s->config.adc_open) ? 1U : 0U;
	uint8_t shorted = (adc <= s->config.adc_short) ? 1U : 0U;
	uint8_t sane = ((open == 0U) && (shorted == 0U)) ? 1U : 0U;

	s->n_open = count(s->n_open, open);
	s->n_short = count(s->n_short, shorted);
	s->n_sane = count(s->n_sane, sane);
	if (s->n_open >= NTC_FAULT) {
		s->ntc |= (uint16_t)LC1_FAULT_NTC_OPEN;
	}
	if (s->n_short >= NTC_FAULT) {
		s->ntc |= (uint16_t)LC1_FAULT_NTC_SHORT;
	}
	if (s->n_sane >= NTC_CLEAR) {
		s->ntc = 0U;
	}
	return sane;
}

/* Stops the lamp while it is too hot; it returns through the soft start. */
static void step_temperature(lc1_core *s, uint16_t adc, uint8_t sane)
{
	uint8_t hot = ((sane != 0U) && (adc <= s->config.adc_trip)) ? 1U : 0U;
	uint8_t cool = ((sane != 0U) && (adc >= s->config.adc_release)) ? 1U : 0U;

	s->n_hot = count(s->n_hot, hot);
	s->n_cool = count(s->n_cool, cool);
	if (s->n_hot >= TRIP_STEPS) {
		s->trip = 1U;
	}
	if ((s->trip != 0U) && (s->n_cool >= RELEASE_STEPS)) {
		s->trip = 0U;
		s->soft = 0U;
	}
}

/* Stops the lamp while the supply is too low; from the fifth dip on it waits longer. */
static void step_supply(lc1_core *s, uint16_t vin_mv)
{
	uint16_t wait = BROWN_WAIT;

	s->brown_left = down(s->brown_left);
	if ((s->brown_left == 0U) && (s->brown == 0U)) {
		s->dips = 0U;
	}
	s->n_low = count(s->n_low, (vin_mv < s->config.vin_low) ? 1U : 0U);
	s->n_good = count(s->n_good, (vin_mv >= s->config.vin_ok) ? 1U : 0U);
	if ((s->n_low >= BROWN_STEPS) && (s->brown == 0U)) {
		s->brown = 1U;
		s->brown_left = BROWN_MEMORY;
		if (s->dips < BROWN_MOST) {
			s->dips++;
		}
	}
	if (s->dips >= BROWN_MANY) {
		wait = BROWN_LONG_WAIT;
	}
	if ((s->brown != 0U) && (s->n_good >= wait)) {
		s->brown = 0U;
		s->soft = 0U;
	}
}

/* 1 if the clock is valid; notices that it was set. */
static uint8_t step_clock(lc1_core *s, const lc1_inputs *in, uint32_t dt)
{
	uint8_t ok = ((in->rtc_ok != 0U) && (in->utc >= s->config.min_utc)) ? 1U : 0U;

	s->jump_left = down(s->jump_left);
	if (ok != 0U) {
		uint32_t d = in->utc - (s->last_utc + (dt / UINT32_C(1000)));
		if (d >= UINT32_C(0x80000000)) {
			d = UINT32_C(0) - d;
		}
		if ((s->seen_utc != 0U) && (d > JUMP_SECONDS)) {
			s->jump_left = JUMP_STEPS;
		}
		s->last_utc = in->utc;
		s->seen_utc = 1U;
	}
	s->safe_left = down(s->safe_left);
	return ok;
}

/* The duty of the fan, with a kick from standstill. */
static uint16_t step_fan(lc1_core *s, uint16_t adc, uint8_t sane)
{
	uint16_t change = (adc > s->fan_adc) ? (uint16_t)(adc - s->fan_adc) : (uint16_t)(s->fan_adc - adc);
	uint16_t want = (uint16_t)LC1_ONE;
	uint16_t out;

	if ((sane != 0U) && (change > s->config.fan_hyst)) {
		s->fan_adc = adc;
	}
	if ((s->ntc == 0U) && (s->trip == 0U) && (s->fan_fault == 0U)) {
		want = (uint16_t)table_at(s->config.fan_curve, s->config.fan_count, s->fan_adc);
	}
	if (want < s->config.fan_min) {
		want = 0U;
	}
	if ((want > 0U) && (s->fan_want == 0U)) {
		s->kick_left = s->config.fan_kick;
	}
	s->fan_want = want;
	out = want;
	if ((s->kick_left > 0U) && (want > 0U)) {
		out = (uint16_t)LC1_ONE;
	}
	s->kick_left = down(s->kick_left);
	if (want == 0U) {
		s->fan_on = 0U;
	} else if (s->fan_on < FAN_ON_MOST) {
		s->fan_on++;
	} else {
		/* long enough */
	}
	return out;
}

/* Judges the speed of the fan over the last second. */
static void judge_fan(lc1_core *s, uint16_t tach)
{
	uint32_t rpm = (uint32_t)((uint16_t)(tach - s->last_tach)) * RPM_PER_PULSE;

	s->last_tach = tach;
	if (s->fan_on < s->config.fan_delay) {
		s->slow_fan = 0U;
	} else if (rpm < (uint32_t)s->config.fan_min_rpm) {
		s->good_fan = 0U;
		if (s->slow_fan < FAN_SAMPLES) {
			s->slow_fan++;
		}
	} else {
		s->slow_fan = 0U;
		if (s->good_fan < FAN_SAMPLES) {
			s->good_fan++;
		}
	}
	if (s->slow_fan >= FAN_SAMPLES) {
		s->fan_fault = 1U;
	}
	if (s->good_fan >= FAN_SAMPLES) {
		s->fan_fault = 0U;
	}
}

/* Notices that the fan stands still, each tenth step, and kicks it again while it does. */
static void step_tach(lc1_core *s, uint16_t tach)
{
	if (s->config.has_tach != 0U) {
		s->tach_count++;
		if (s->tach_count >= TACH_STEPS) {
			s->tach_count = 0U;
			judge_fan(s, tach);
		}
		if (s->fan_fault == 0U) {
			s->retry = 0U;
		} else {
			s->retry++;
			if (s->retry >= FAN_RETRY) {
				s->retry = 0U;
				s->kick_left = s->config.fan_kick;
			}
		}
	}
}

/* Moves the common gain towards what the temperature and the faults allow. */
static void step_gain(lc1_core *s, uint16_t adc, uint8_t sane)
{
	uint32_t to = (uint32_t)s->gain;

	if (s->ntc != 0U) {
		to = (uint32_t)s->config.limp_level;
	} else if (sane != 0U) {
		to = table_at(s->config.fold, s->config.fold_count, adc);
	} else {
		/* one bad sample: as before */
	}
	if (s->fan_fault != 0U) {
		to = smaller(to, (uint32_t)s->config.fanfail_level);
	}
	if (s->safe_left > 0U) {
		to = smaller(to, (uint32_t)s->config.limp_level);
	}
	s->gain = towards(s->gain, to, s->config.fold_slew);
}

/* Moves the settings of all channels towards the programme, or towards the safe level without a clock. */
static void step_settings(lc1_core *s, uint32_t utc, uint8_t clock_ok, uint8_t jump_there)
{
	const lc1_config *c = &s->config;
	uint32_t local = utc + zone_offset(c, utc);
	uint32_t second = local % DAY_S;
	uint32_t factor = acclimation(c, local / DAY_S);

	for (uint8_t i = 0U; i < c->channel_count; i++) {
		uint32_t to;

		if (clock_ok != 0U) {
			to = (level_at(&c->channels[i], second) * factor) >> 15;
		} else {
			to = smaller((uint32_t)c->limp_level, most_level(&c->channels[i]));
		}
		if (jump_there != 0U) {
			s->setting[i] = (uint16_t)to;
		} else {
			s->setting[i] = towards(s->setting[i], to, c->slew);
		}
	}
}

/* The duty of a setting by the table of lightness. A level above 1 is no state of the core: the table is not read past
 * its end, whatever RAM holds. */
static uint32_t luminance(uint32_t setting)
{
	uint32_t level = smaller(setting, (uint32_t)LC1_ONE);
	uint32_t i = level >> 7;
	uint32_t part = level & UINT32_C(127);
	uint32_t d = (uint32_t)lc1_lut[i];

	if (part != UINT32_C(0)) {
		d += ((((uint32_t)lc1_lut[i + UINT32_C(1)] - d) * part) + UINT32_C(64)) >> 7;
	}
	return d;
}

/* The duty of a channel at its setting under both gains. */
static uint16_t duty_of(const lc1_core *s, uint8_t i)
{
	const lc1_channel *ch = &s->config.channels[i];
	uint32_t level = ((uint32_t)s->setting[i] * (uint32_t)s->gain) >> 15;
	uint32_t d = UINT32_C(0);

	level = (level * (uint32_t)s->soft) >> 15;
	if ((level >= (uint32_t)ch->off_below) && (level != UINT32_C(0))) {
		d = (ch->curve == 1U) ? luminance(level) : level;
		if (d < (uint32_t)ch->min_duty) {
			d = (uint32_t)ch->min_duty;
		}
	}
	return (uint16_t)d;
}

/* 32768 a/b of a < b < 2^30, rounded down, by long division: the product may exceed 32 bits. */
static uint32_t quotient15(uint32_t a, uint32_t b)
{
	uint32_t q = UINT32_C(0);

	for (uint8_t i = 0U; i < 15U; i++) {
		a <<= 1;
		q <<= 1;
		if (a >= b) {
			a -= b;
			q |= UINT32_C(1);
		}
	}
	return q;
}

/* Reduces all duties by one factor where their power exceeds the limit, so that the colour stays. */
static void step_budget(const lc1_config *c, uint16_t *duty)
{
	uint32_t p = UINT32_C(0);

	for (uint8_t i = 0U; i < c->channel_count; i++) {
		p += ((uint32_t)duty[i] * (uint32_t)c->channels[i].weight) >> 15;
	}
	if (p > c->p_max) {
		const uint32_t k = quotient15(c->p_max, p);
		for (uint8_t i = 0U; i < c->channel_count; i++) {
			duty[i] = (uint16_t)(((uint32_t)duty[i] * k) >> 15);
		}
	}
}

static uint16_t faults_of(const lc1_core *s, uint8_t clock_ok)
{
	uint16_t f = s->ntc;

	if (clock_ok == 0U) {
		f |= (uint16_t)LC1_FAULT_CLOCK;
	}
	if (s->trip != 0U) {
		f |= (uint16_t)LC1_FAULT_OVERTEMP;
	}
	if (s->fan_fault != 0U) {
		f |= (uint16_t)LC1_FAULT_FAN;
	}
	if (s->brown != 0U) {
		f |= (uint16_t)LC1_FAULT_BROWNOUT;
	}
	if ((s->safe_left > 0U) || (s->dips >= BROWN_MANY)) {
		f |= (uint16_t)LC1_FAULT_RESETS;
	}
	if (s->jump_left > 0U) {
		f |= (uint16_t)LC1_FAULT_CLOCK_JUMP;
	}
	return f;
}

static uint16_t state_of(const lc1_core *s, uint8_t clock_ok)
{
	uint16_t state = LC1_RUN;

	if (s->trip != 0U) {
		state = LC1_OFF;
	} else if (s->brown != 0U) {
		state = LC1_BROWN;
	} else if ((s->ntc != 0U) || (s->fan_fault != 0U) || (clock_ok == 0U) || (s->safe_left > 0U)) {
		state = LC1_LIMP;
	} else if (s->soft < LC1_ONE) {
		state = LC1_SOFT;
	} else {
		/* normal operation */
	}
	return state;
}

static void dark(lc1_outputs *out)
{
	for (uint8_t i = 0U; i < LC1_MAX_CHANNELS; i++) {
		out->duty[i] = 0U;
	}
	out->fan = (uint16_t)LC1_ONE;
	out->state = (uint16_t)LC1_OFF;
	out->fault = (uint16_t)LC1_FAULT_CONFIG;
}

/* One step with a valid configuration. */
static void step(lc1_core *s, const lc1_inputs *in, lc1_outputs *out)
{
	uint32_t dt = in->now_ms - s->last_ms;
	uint8_t first = (s->begun == 0U) ? 1U : 0U;
	uint8_t sane;
	uint8_t clock_ok;
	uint8_t stopped;

	if (first != 0U) {
		dt = UINT32_C(0);
		s->begun = 1U;
		s->last_tach = in->tach;
		s->fan_adc = in->adc;
		s->gain = (uint16_t)LC1_ONE;
	}
	s->last_ms = in->now_ms;
	sane = step_sensor(s, in->adc);
	step_temperature(s, in->adc, sane);
	step_supply(s, in->vin_mv);
	clock_ok = step_clock(s, in, dt);
	out->fan = step_fan(s, in->adc, sane);
	step_tach(s, in->tach);
	step_gain(s, in->adc, sane);
	stopped = ((s->trip != 0U) || (s->brown != 0U)) ? 1U : 0U;
	if (stopped != 0U) {
		s->soft = 0U;
	} else {
		s->soft = (uint16_t)smaller((uint32_t)LC1_ONE, (uint32_t)s->soft + (uint32_t)s->config.soft_step);
	}
	step_settings(s, in->utc, clock_ok, ((first != 0U) && (stopped == 0U)) ? 1U : 0U);
	if (stopped == 0U) {
		for (uint8_t i = 0U; i < s->config.channel_count; i++) {
			out->duty[i] = duty_of(s, i);
		}
	}
	step_budget(&s->config, out->duty);
	out->fault = faults_of(s, clock_ok);
	out->state = state_of(s, clock_ok);
}

void lc1_step(lc1_core *core, const lc1_inputs *in, lc1_outputs *out)
{
	dark(out);
	if (core->ok == 1U) {
		step(core, in, out);
	}
}

uint8_t lc1_plausible(const lc1_core *core, const lc1_outputs *out)
{
	uint8_t ok = 1U;
	uint8_t is_dark = ((out->state == LC1_OFF) || (out->state == LC1_BROWN)) ? 1U : 0U;

	if ((out->state > LC1_RUN) || (out->fan > LC1_ONE) || (core->ok > 1U)) {
		ok = 0U;
	}
	if ((core->gain > LC1_ONE) || (core->soft > LC1_ONE) || (core->config.channel_count > LC1_MAX_CHANNELS)) {
		ok = 0U;
	}
	if ((core->ok == 0U) && (out->fault != LC1_FAULT_CONFIG)) {
		ok = 0U;
	}
	for (uint8_t i = 0U; i < LC1_MAX_CHANNELS; i++) {
		if ((out->duty[i] > LC1_ONE) || (core->setting[i] > LC1_ONE)) {
			ok = 0U;
		}
		if ((is_dark != 0U) && (out->duty[i] != 0U)) {
			ok = 0U;
		}
	}
	return ok;
}
