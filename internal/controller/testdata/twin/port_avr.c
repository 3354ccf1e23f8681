/* SPDX-License-Identifier: 0BSD
 * Runner on an 8-bit AVR (atmega1284p), text by UART 0. The simulator ends when the core sleeps with interrupts off.
 */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

#include "runner.h"

void port_text(const char *text)
{
	while (*text != '\0') {
		while ((UCSR0A & (1U << UDRE0)) == 0U) {
		}
		UDR0 = (uint8_t)*text;
		text++;
	}
}

int main(void)
{
	UCSR0B = (uint8_t)(1U << TXEN0);
	run_all();
	cli();
	sleep_enable();
	sleep_cpu();
	for (;;) {
	}
}
