/* SPDX-License-Identifier: 0BSD
 * Runner on a 32-bit RISC-V core (board virt of the emulator): UART at 0x10000000, test device at 0x100000.
 */
#include <stddef.h>

#include "runner.h"

void *memcpy(void *to, const void *from, size_t n);
void *memset(void *to, int v, size_t n);
void start(void);

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
	while (*text != '\0') {
		*(volatile uint8_t *)0x10000000U = (uint8_t)*text;
		text++;
	}
}

void start(void)
{
	run_all();
	*(volatile uint32_t *)0x100000U = 0x5555U; /* power off */
	for (;;) {
	}
}

__asm__(".section .entry,\"ax\"\n.globl _entry\n_entry:\n\tla sp, stack_top\n\tj start\n");
