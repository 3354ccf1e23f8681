// What of the help is open. The help itself is loaded when it is first opened.
import { signal } from '@preact/signals';

/** Asked is what the help begins with: its contents, or the section on a check. */
export interface Asked { check?: string }

/** asked is set while the help is open. */
export const asked = signal<Asked | null>(null);

/** openHelp shows the help; with a check, the section that explains it. */
export const openHelp = (what: Asked = {}) => { asked.value = what; };

/** helpKey opens the help with ?, but in a text that is being typed, or in another dialog. */
export function helpKey(e: KeyboardEvent) {
  if (e.key !== '?' || e.ctrlKey || e.metaKey || e.altKey) return;
  if ((e.target as Element | null)?.closest?.('textarea, select, dialog, [contenteditable], input:not([type=range], [type=checkbox], [type=radio])')) return;
  e.preventDefault();
  openHelp();
}
