/* SPDX-License-Identifier: 0BSD
 * See runner.h. It mirrors the signals and the fuzzer of the tests in Go.
 */
#include "runner.h"

#include "lc1.h"

static lc1_core core;
static uint8_t image[IMAGE_ROOM];

static uint32_t crc_add(uint32_t crc, uint16_t word)
{
	crc ^= (uint32_t)word;
	for (uint8_t bit = 0U; bit < 16U; bit++) {
		crc = ((crc & 1U) != 0U) ? ((crc >> 1) ^ UINT32_C(0xEDB88320)) : (crc >> 1);
	}
	return crc;
}

/* A node list in flash. */
static uint32_t node(const uint32_t *list, uint32_t at)
{
	return READ32(&list[at]);
}

static int32_t signal_at(const uint32_t *list, uint32_t tick, uint8_t linear)
{
	uint32_t n = node(list, 0U);
	uint32_t i = 0U;
	int32_t v;

	while (((i + 1U) < n) && (node(list, 3U + (2U * i)) <= tick)) {
		i++;
	}
	v = (int32_t)node(list, 2U + (2U * i));
	if ((linear != 0U) && ((i + 1U) < n) && (tick > node(list, 1U + (2U * i)))) {
		uint32_t from = node(list, 1U + (2U * i));
		int32_t span = (int32_t)(node(list, 3U + (2U * i)) - from);
		int32_t rise = ((int32_t)node(list, 4U + (2U * i)) - v) * (int32_t)(tick - from);
		int32_t q = rise / span;

		if ((rise % span) < 0) {
			q--;
		}
		v += q;
	}
	return v;
}

static uint32_t turned;

static void trace_inputs(const test_case *c, uint32_t tick, lc1_inputs *in)
{
	const uint32_t *list[SIGNALS];
	const uint32_t *next = c->nodes;

	for (uint8_t i = 0U; i < SIGNALS; i++) {
		list[i] = next;
		next = &next[1U + (2U * node(next, 0U))];
	}
	turned += (uint32_t)signal_at(list[3], tick, 0U);
	in->now_ms = 100U * tick;
	in->utc = c->utc + (tick / 10U) + (uint32_t)signal_at(list[2], tick, 0U);
	in->rtc_ok = (uint8_t)signal_at(list[1], tick, 0U);
	in->vin_mv = (uint16_t)signal_at(list[0], tick, 0U);
	in->tach = (uint16_t)((turned / 300U) & 0xFFFFU);
	in->adc = (uint16_t)signal_at(list[4], tick, 1U);
}

typedef struct {
	lc1_inputs in;
	uint32_t x;
	uint32_t low;     /* adc_short */
	uint32_t trip;
	uint32_t release;
	uint32_t open;
	uint32_t vin_low;
	uint32_t vin_ok;
	uint32_t base_utc;
	uint32_t adc;
	uint32_t rpm;
	uint32_t turned;
	uint32_t hold;
	uint32_t tenth;
	uint8_t noisy;
} fuzzer;

static fuzzer f;

static uint32_t draw(void)
{
	f.x ^= f.x << 13;
	f.x ^= f.x >> 17;
	f.x ^= f.x << 5;
	return f.x;
}

static void fuzz_start(const test_case *c)
{
	f.low = 1U;
	f.trip = 2U;
	f.release = 3U;
	f.open = 4U;
	f.vin_low = 1U;
	f.vin_ok = 2U;
	if (core.ok != 0U) {
		f.low = core.config.adc_short;
		f.trip = core.config.adc_trip;
		f.release = core.config.adc_release;
		f.open = core.config.adc_open;
		f.vin_low = core.config.vin_low;
		f.vin_ok = core.config.vin_ok;
	}
	f.x = c->seed;
	f.base_utc = c->utc;
	f.adc = f.release;
	f.rpm = 4000U;
	f.turned = 0U;
	f.hold = 0U;
	f.tenth = 0U;
	f.noisy = 0U;
	f.in.now_ms = draw();
	f.in.utc = c->utc;
	f.in.rtc_ok = 1U;
	f.in.vin_mv = (uint16_t)f.vin_ok;
	f.in.tach = (uint16_t)(draw() & 0xFFFFU);
}

static void fuzz_event(uint32_t kind, uint32_t arg)
{
	switch (kind) {
	case 0U:
		f.adc = f.open + (arg % (4097U - f.open));
		break;
	case 1U:
		f.adc = arg % (f.low + 1U);
		break;
	case 2U:
		f.adc = f.low + 1U + (arg % (f.trip - f.low));
		break;
	case 3U:
		f.adc = arg % 4096U;
		break;
	case 4U:
		f.in.vin_mv = (uint16_t)(f.vin_low - 1U);
		break;
	case 5U:
		f.in.vin_mv = (uint16_t)(arg & 0xFFFFU);
		break;
	case 6U:
		f.in.rtc_ok = (f.in.rtc_ok == 0U) ? 1U : 0U;
		break;
	case 7U:
		f.in.utc += arg % UINT32_C(65536);
		break;
	case 8U:
		f.in.utc -= arg % 20U;
		break;
	case 9U:
		f.in.utc = arg;
		break;
	case 10U:
	case 11U:
		f.in.utc = f.base_utc;
		break;
	case 12U:
		f.rpm = 0U;
		break;
	case 13U:
		f.rpm = arg % 6000U;
		break;
	case 14U:
		f.in.now_ms += arg % 5000U;
		break;
	case 15U:
		f.in.now_ms += arg;
		break;
	case 16U:
		f.noisy = (f.noisy == 0U) ? 1U : 0U;
		break;
	case 17U:
	case 18U:
		f.in.vin_mv = (uint16_t)f.vin_ok;
		break;
	default:
		f.adc = f.release + (arg % (f.open - f.release));
		f.rpm = 4000U;
		break;
	}
}

static void fuzz_inputs(lc1_inputs *in)
{
	static const uint16_t holds[8] = {0U, 1U, 2U, 9U, 12U, 60U, 120U, 650U};
	uint32_t r = draw();
	uint32_t noise;

	f.in.now_ms += 100U;
	f.tenth++;
	if (f.tenth == 10U) {
		f.tenth = 0U;
		f.in.utc++;
	}
	if (f.hold > 0U) {
		f.hold--;
	} else {
		f.hold = holds[r >> 29];
		fuzz_event(r % 24U, draw());
	}
	f.turned += f.rpm;
	f.in.tach = (uint16_t)(f.in.tach + (f.turned / 300U));
	f.turned %= 300U;
	f.in.adc = (uint16_t)f.adc;
	noise = draw() % 11U;
	if ((f.noisy != 0U) && (f.adc > 5U)) {
		f.in.adc = (uint16_t)((f.adc + noise) - 5U);
	}
	*in = f.in;
}

static uint32_t run(const test_case *c)
{
	uint32_t crc = UINT32_C(0xFFFFFFFF);
	lc1_inputs in;
	lc1_outputs out;

	for (uint16_t i = 0U; i < c->size; i++) {
		image[i] = READ8(&c->image[i]);
	}
	lc1_init(&core, image, c->size, c->boots);
	turned = 0U;
	fuzz_start(c);
	for (uint32_t tick = 0U; tick < c->ticks; tick++) {
		if (c->nodes != 0) {
			trace_inputs(c, tick, &in);
		} else {
			fuzz_inputs(&in);
		}
		lc1_step(&core, &in, &out);
		for (uint8_t i = 0U; i < LC1_MAX_CHANNELS; i++) {
			crc = crc_add(crc, out.duty[i]);
		}
		crc = crc_add(crc, out.fan);
		crc = crc_add(crc, out.state);
		crc = crc_add(crc, out.fault);
		if (lc1_plausible(&core, &out) != 1U) {
			port_text("not plausible\n");
		}
	}
	return crc ^ UINT32_C(0xFFFFFFFF);
}

void run_all(void)
{
	static const char digits[] = "0123456789abcdef";
	char line[10];

	for (uint16_t i = 0U; i < test_count; i++) {
		uint32_t crc = run(&test_cases[i]);

		for (uint8_t k = 0U; k < 8U; k++) {
			line[7U - k] = digits[crc & 15U];
			crc >>= 4;
		}
		line[8] = '\n';
		line[9] = '\0';
		port_text("crc ");
		port_text(line);
	}
	port_text("end\n");
}
