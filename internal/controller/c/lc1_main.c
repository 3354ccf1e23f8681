/* SPDX-License-Identifier: 0BSD
 * Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby
 * granted. The software is provided "as is", without warranty of any kind: see LICENSE.
 *
 * Main function: starts, and polls for ever.
 */
#include "lc1_app.h"
#include "lc1_config.h"

int main(void)
{
	lc1_app_start(lc1_config_image, (uint16_t)LC1_CONFIG_SIZE);
	for (;;) {
		lc1_app_poll();
	}
}
