/* SPDX-License-Identifier: 0BSD
 * Runner on a PC. With the argument "load" it reads images from standard input (length u16 little-endian, bytes) and
 * prints for each whether it is accepted.
 */
#include <stdio.h>
#include <string.h>

#include "lc1.h"
#include "runner.h"

void port_text(const char *text)
{
	(void)fputs(text, stdout);
}

static void load_all(void)
{
	static uint8_t bytes[65536];
	static lc1_config config;
	int low;
	int high;

	for (low = getchar(); low != EOF; low = getchar()) {
		size_t size;

		high = getchar();
		size = ((size_t)high << 8) | (size_t)low;
		if (fread(bytes, 1U, size, stdin) != size) {
			break;
		}
		(void)putchar((lc1_load(&config, bytes, (uint16_t)size) == 1U) ? '1' : '0');
	}
	(void)printf(" %08lx\n", (unsigned long)lc1_crc32((const uint8_t *)"123456789", 9U));
}

int main(int argc, char **argv)
{
	if ((argc > 1) && (strcmp(argv[1], "load") == 0)) {
		load_all();
	} else {
		run_all();
	}
	return 0;
}
