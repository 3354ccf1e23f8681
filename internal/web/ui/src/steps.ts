// Steps of the unsaved changes, which can be undone and redone one by one.

/** Values is a set of unsaved values, by their paths. */
export type Values = Record<string, string>;

/** Changes of the same values within this time are one step: those of a slider. In ms. */
const pause = 800;

/** The number of steps that are kept. */
const most = 200;

export class Steps {
  private past: Values[] = [];
  private future: Values[] = [];
  private last = { paths: '', at: -Infinity };

  get back() { return this.past.length > 0; }
  get forth() { return this.future.length > 0; }

  /** record notes at a time that values are replaced by others. */
  record(before: Values, next: Values, at: number) {
    const moved = [...new Set([...Object.keys(before), ...Object.keys(next)])].filter((p) => before[p] !== next[p]).sort();
    if (moved.length === 0) return;
    const paths = moved.join('\n'), slid = moved.every((p) => p in before && p in next);
    if (!slid || paths !== this.last.paths || at - this.last.at > pause) this.past.push(before);
    if (this.past.length > most) this.past.shift();
    this.last = { paths, at };
    this.future = [];
  }

  /** cut makes the next change a step of its own. */
  cut() { this.last = { paths: '', at: -Infinity }; }

  /** undo returns the values before the last step; undefined where there is none. */
  undo(now: Values): Values | undefined { return this.step(this.past, this.future, now); }

  /** redo returns the values of the step that was undone last. */
  redo(now: Values): Values | undefined { return this.step(this.future, this.past, now); }

  private step(from: Values[], to: Values[], now: Values) {
    const next = from.pop();
    if (next) to.push(now);
    this.cut();
    return next;
  }

  clear() {
    this.past = [];
    this.future = [];
    this.cut();
  }
}
