// Acknowledgements of findings as changes of the design file: entries of its list, by their paths.
/** gone in place of a text takes a value away, and asYAML before one makes it YAML; neither can stand in a file. */
const gone = '\0', asYAML = '\x01';

const entry = /^acknowledged\[(\d+)\]$/;

/** entryOf is the path of the entry in which a value lies. */
export const entryOf = (path: string): string => path.replace(/^(acknowledged\[\d+\]).*$/, '$1');

/** acknowledging is the unsaved changes with a further entry; filed is the number of entries in the file. */
export function acknowledging(trial: Record<string, string>, filed: number, check: string, subject: string, reason: string, date: string): Record<string, string> {
  let at = filed;
  while (`acknowledged[${at}]` in trial) at++;
  return { ...trial, [`acknowledged[${at}]`]: `${asYAML}{check: ${check}, subject: ${quoted(subject)}, reason: ${quoted(reason)}, date: ${date}}` };
}

/** quoted is a text as YAML on one line. */
const quoted = (text: string) => JSON.stringify(text.replace(/\s+/g, ' ').trim());

/** withdrawn is the unsaved changes without an entry: one of the file is taken away; an added one leaves, and those after it move up. */
export function withdrawn(trial: Record<string, string>, filed: number, path: string): Record<string, string> {
  const at = Number(entry.exec(path)?.[1]);
  if (at < filed) return { ...trial, [path]: gone };
  const next: Record<string, string> = {};
  for (const [key, text] of Object.entries(trial)) {
    const k = Number(entry.exec(key)?.[1] ?? -1);
    if (k !== at) next[k > at ? `acknowledged[${k - 1}]` : key] = text;
  }
  return next;
}
