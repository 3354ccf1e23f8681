// The way to the digitiser of diagrams, whose program comes when it is opened.
import { signal } from '@preact/signals';
import { Key } from './api';
import { EditedPart } from './newpart';
import { session } from './tables';

type Shown = (p: { k: Key; p: EditedPart; at: string }) => preact.JSX.Element;
const loaded = signal<Shown | null>(null), failed = signal(false);
const load = () => { failed.value = false; void import('./digitiser').then((m) => { loaded.value = m.Digitiser; }, () => { failed.value = true; }); };

/** open begins to read a curve off a diagram. */
export function open(at: string, picture: File | null) {
  session.value = { at, picture };
  if (!loaded.value) load();
}

/** Digitise is the digitiser of a curve, or the button that opens it. */
export function Digitise({ k, p }: { k: Key; p: EditedPart }) {
  const at = `${p.file}#${p.path}.${k.key}`;
  if (session.value?.at !== at) return <button type="button" class="link add-source" onClick={() => open(at, null)}>Read from a diagram…<span class="hidden"> {k.key}</span></button>;
  const D = loaded.value;
  if (failed.value) return <p class="wrong" role="alert">The digitiser cannot be loaded: the program does not answer. <button type="button" onClick={load}>Try again</button></p>;
  return D ? <D k={k} p={p} at={at} /> : <p role="status">Loading the digitiser…</p>;
}
