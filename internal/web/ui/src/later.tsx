// Views whose program comes after the page: what is shown first need not wait for them.
import { signal } from '@preact/signals';

type View = () => preact.JSX.Element;

const loads: (() => Promise<void>)[] = [];

/** laterView draws a view as soon as its program is there. */
export function laterView(load: () => Promise<View>): View {
  const got = signal<View | null>(null), failed = signal(false);
  let asked: Promise<void> | null = null;
  const ask = () => (asked ??= load().then((v) => { got.value = v; failed.value = false; }, () => { asked = null; failed.value = true; }));
  loads.push(ask);
  return () => {
    const Shown = got.value;
    if (Shown) return <Shown />;
    if (failed.value) return <p class="wrong" role="alert">This view cannot be loaded: the program does not answer. <button type="button" onClick={() => { failed.value = false; void ask(); }}>Try again</button></p>;
    void ask();
    return <p class="loading coming" role="status">Loading the view…</p>;
  };
}

/** loadLater loads every view, one after the other, once the first one is drawn; without the program they are there then. */
export function loadLater() {
  window.setTimeout(async () => { for (const ask of loads) await ask(); }, 300);
}
