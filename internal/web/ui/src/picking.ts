// What is chosen among alternatives: the place of the design of which a picker is open.
import { signal } from '@preact/signals';

/** picking is the path of the design whose alternatives are shown; empty where none are. */
export const picking = signal('');
export const openPicker = (path: string) => { picking.value = path; };
