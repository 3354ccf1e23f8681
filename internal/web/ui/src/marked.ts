// Characters that cannot stand in a file, and say of a changed value what its text alone does not.

/** gone in place of a text takes a value away: a key with its value, or an item of a list. */
export const gone = '\0';
/** asYAML before a text makes it YAML: a mapping or a list in the place of what stands there, or a further item of a list. */
export const asYAML = '\x01';
/** asBlock is asYAML over several lines. */
export const asBlock = '\x02';
/** asFile before a token puts a dropped file beside the parts. */
export const asFile = '\x03';
