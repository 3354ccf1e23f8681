// Views whose program comes after the page: what is shown first need not wait for them.
import { signal } from '@preact/signals';

type View = () => preact.JSX.Element;

const loads: (() => Promise<void>)[] = [];

/** again imports a module that could not be loaded. A browser keeps its failure under its address, which the error names, so that another one is asked for. */
const again = <M,>(load: () => Promise<M>, failed: unknown, n: number): Promise<M> => {
  const address = failed instanceof Error ? /https?:\S+\.js/.exec(failed.message)?.[0] : undefined;
  return address ? (import(`${address}?again=${n}`) as Promise<M>) : load();
};

/** laterView draws a view of a module as soon as its program is there; one that most pages never show is not loaded ahead. */
export function laterView<M>(load: () => Promise<M>, view: (m: M) => View, ahead = true): View {
  const got = signal<View | null>(null), failed = signal<unknown>(null);
  let asked: Promise<void> | null = null, tries = 0, first: unknown = null;
  const ask = () => (asked ??= (tries++ === 0 ? load() : again(load, first, tries)).then((m) => { got.value = view(m); failed.value = null; }, (e: unknown) => { asked = null; first ??= e; failed.value = e; }));
  if (ahead) loads.push(ask);
  return () => {
    const Shown = got.value;
    if (Shown) return <Shown />;
    if (failed.value) return <p class="wrong" role="alert">This view cannot be loaded: the program does not answer. <button type="button" onClick={() => { failed.value = null; void ask(); }}>Try again</button></p>;
    void ask();
    return <p class="loading coming" role="status">Loading the view…</p>;
  };
}

/** onDemand draws what is loaded when it is first shown, and not before. */
export function onDemand(load: () => Promise<View>): View {
  const got = signal<View | null>(null), failed = signal(false);
  let coming = false;
  return () => {
    const Shown = got.value;
    if (Shown) return <Shown />;
    if (failed.value) return <p class="wrong" role="alert">This cannot be loaded: the program does not answer.</p>;
    if (!coming) {
      coming = true;
      void load().then((v) => { got.value = v; }, () => { coming = false; failed.value = true; });
    }
    return <p class="hidden" role="status">Loading…</p>;
  };
}

/** loadLater loads every view, one after the other, once the first one is drawn; without the program they are there then. */
export function loadLater() {
  window.setTimeout(async () => { for (const ask of loads) await ask(); }, 300);
}
