/* SPDX-License-Identifier: 0BSD
 * Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby
 * granted. The software is provided "as is", without warranty of any kind: see LICENSE.
 *
 * The controller between core and hardware: steps at each 100 ms, watchdog, count of unclean starts.
 */
#ifndef LC1_APP_H
#define LC1_APP_H

#include <stdint.h>

/* Starts: outputs dark, hardware, count of unclean starts, core. */
void lc1_app_start(const uint8_t *image, uint16_t size);

/* To be called again and again: does a pass when 100 ms are over, returns at once otherwise. */
void lc1_app_poll(void);

#endif
