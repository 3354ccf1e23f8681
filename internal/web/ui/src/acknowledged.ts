// Acknowledgements of findings as changes of the design file: entries of its list, by their paths.
import { cleared, nextItem } from './keytree';
import { asYAML } from './marked';

/** entryOf is the path of the entry in which a value lies. */
export const entryOf = (path: string): string => path.replace(/^(acknowledged\[\d+\]).*$/, '$1');

/** acknowledging is the unsaved changes with a further entry; filed is the number of entries in the file. */
export function acknowledging(trial: Record<string, string>, filed: number, check: string, subject: string, reason: string, date: string): Record<string, string> {
  return { ...trial, [nextItem('acknowledged', filed, trial)]: `${asYAML}{check: ${check}, subject: ${quoted(subject)}, reason: ${quoted(reason)}, date: ${date}}` };
}

/** quoted is a text as YAML on one line. */
const quoted = (text: string) => JSON.stringify(text.replace(/\s+/g, ' ').trim());

/** withdrawn is the unsaved changes without an entry: one of the file is taken away; an added one leaves, and those after it move up. */
export const withdrawn = (trial: Record<string, string>, filed: number, path: string): Record<string, string> =>
  cleared(trial, path, (p) => Number(/\[(\d+)\]$/.exec(p)?.[1]) < filed);
