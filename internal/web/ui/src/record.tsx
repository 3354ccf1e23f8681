// The record of what is shown, as a file to keep: the dossier.
import { signal } from '@preact/signals';
import { changes, notice, sentence, state } from './store';

const making = signal(false);
let asking: AbortController | null = null;

async function make() {
  const mine = asking = new AbortController();
  making.value = true;
  notice.value = null;
  try {
    const response = await fetch('/api/dossier', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ base: state.value?.hash ?? '', changes: changes() }), signal: mine.signal });
    if (!response.ok) throw new Error(((await response.json()) as { error?: string }).error ?? response.statusText);
    const name = /filename="?([^";]+)"?/.exec(response.headers.get('Content-Disposition') ?? '')?.[1] ?? 'dossier.html';
    const link = document.createElement('a');
    link.href = URL.createObjectURL(await response.blob());
    link.download = name;
    link.click();
    window.setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    notice.value = { kind: 'good', text: `The dossier is in your downloads as ${name}.` };
  } catch (e) {
    notice.value = { kind: 'bad', text: mine.signal.aborted ? 'Stopped; no dossier was made.' : e instanceof TypeError ? 'The program does not answer; no dossier was made.' : sentence(e instanceof Error ? e.message : String(e)) };
  }
  making.value = false;
}

/** Dossier gives the record of the lamp as it is shown; while it is made the same button stops it. */
export const Dossier = () => (
  <button type="button" onClick={() => (making.value ? asking?.abort() : void make())} title="The record of the lamp as it is shown: one HTML file with figures, pictures, findings and the order list">
    {making.value ? 'Stop the dossier' : 'Dossier'}
  </button>
);
