/* SPDX-License-Identifier: 0BSD
 * Runner on a Cortex-M3 (board mps2-an385 of the emulator), text by semihosting.
 */
#include <stddef.h>

#include "runner.h"

void *memcpy(void *to, const void *from, size_t n);
void *memset(void *to, int v, size_t n);
void reset(void);
extern uint32_t stack_top;

static void semihost(uint32_t op, const void *arg)
{
	register uint32_t r0 __asm__("r0") = op;
	register const void *r1 __asm__("r1") = arg;

	__asm__ volatile("bkpt 0xab" : "+r"(r0) : "r"(r1) : "memory");
}

void *memcpy(void *to, const void *from, size_t n)
{
	for (size_t i = 0; i < n; i++) {
		((volatile uint8_t *)to)[i] = ((const uint8_t *)from)[i];
	}
	return to;
}

void *memset(void *to, int v, size_t n)
{
	for (size_t i = 0; i < n; i++) {
		((volatile uint8_t *)to)[i] = (uint8_t)v;
	}
	return to;
}

void port_text(const char *text)
{
	semihost(4U, text); /* SYS_WRITE0 */
}

void reset(void)
{
	run_all();
	semihost(0x18U, (const void *)0x20026U); /* exit */
	for (;;) {
	}
}

__attribute__((section(".vectors"), used)) static const void *const vectors[2] = {&stack_top, (const void *)reset};
