// The design report of the lamp as it is shown, as a file.
import { signal } from '@preact/signals';
import { posting } from './api';
import { changes, notice, sentence, state } from './store';

const making = signal(false);
let asking: AbortController | null = null;

async function make() {
  const mine = asking = new AbortController();
  making.value = true;
  notice.value = null;
  try {
    const response = await fetch('/api/report', posting({ base: state.value?.hash ?? '', changes: changes() }, mine.signal));
    if (!response.ok) throw new Error(((await response.json()) as { error?: string }).error ?? response.statusText);
    const name = /filename="?([^";]+)"?/.exec(response.headers.get('Content-Disposition') ?? '')?.[1] ?? 'report.html';
    const link = document.createElement('a');
    link.href = URL.createObjectURL(await response.blob());
    link.download = name;
    link.click();
    window.setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    notice.value = { kind: 'good', text: `Report saved to your downloads as ${name}.` };
  } catch (e) {
    notice.value = { kind: 'bad', text: mine.signal.aborted ? 'Stopped; no report was written.' : e instanceof TypeError ? 'The program does not answer; no report was written.' : sentence(e instanceof Error ? e.message : String(e)) };
  }
  making.value = false;
}

/** Report downloads the design report; while it is written, the same button stops it. */
export const Report = () => (
  <button type="button" onClick={() => (making.value ? asking?.abort() : void make())} title="Download the design report of the lamp as shown: one HTML file with results, pictures, findings and bill of materials">
    {making.value ? 'Stop' : 'Report'}
  </button>
);
