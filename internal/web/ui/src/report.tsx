// The papers of the lamp as it is shown: design report and tables as files, the build sheet in a window of its own.
import { openHelp } from './helpstate';
import { signal } from '@preact/signals';
import { at, OpenedSheet, posting } from './api';
import { handOver } from './export';
import { changes, notice, sentence, state } from './store';

/** making is the paper that is written now; empty where none is. */
const making = signal('');
let asking: AbortController | null = null;

/** make asks for a paper, and hands its answer on; while it is written, its button stops it. */
async function make(key: string, what: string, open: boolean, done: (response: Response) => Promise<void>) {
  if (making.value !== '') {
    if (making.value === key) asking?.abort();
    return;
  }
  const mine = asking = new AbortController();
  making.value = key;
  notice.value = null;
  try {
    const response = await fetch(at(`/api/${key}`), posting({ base: state.value?.hash ?? '', changes: changes(), open }, mine.signal));
    if (!response.ok) throw new Error(((await response.json()) as { error?: string }).error ?? response.statusText);
    await done(response);
  } catch (e) {
    notice.value = { kind: 'bad', text: mine.signal.aborted ? `Stopped; no ${what} was written.` : e instanceof TypeError ? `The program does not answer; no ${what} was written.` : sentence(e instanceof Error ? e.message : String(e)) };
  }
  making.value = '';
}

/** download saves a paper as a file. */
const download = (key: string, what: string) => make(key, what, false, async (response) => {
  const name = /filename="?([^";]+)"?/.exec(response.headers.get('Content-Disposition') ?? '')?.[1] ?? key;
  handOver(name, await response.blob());
  notice.value = { kind: 'good', text: `${what.charAt(0).toUpperCase() + what.slice(1)} saved to your downloads as ${name}.` };
});

/** openSheet shows the build sheet in a window of its own; where the browser allows none, it is a file. */
function openSheet() {
  if (making.value === '') {
    const shown = window.open('', '_blank');
    if (!shown) return void download('build-sheet', 'build sheet');
    let there = false;
    return void make('build-sheet', 'build sheet', true, async (response) => {
      shown.location.href = ((await response.json()) as OpenedSheet).address;
      there = true;
    }).then(() => { if (!there) shown.close(); });
  }
  void make('build-sheet', 'build sheet', true, async () => {});
}

const closeMenu = (e: { currentTarget: EventTarget | null }) => (e.currentTarget as HTMLElement | null)?.closest('details')?.removeAttribute('open');

const ReportButton = () => (
  <button type="button" onClick={() => void download('report', 'report')} title="Download the design report of the lamp as shown: one HTML file with results, pictures, findings and bill of materials">
    {making.value === 'report' ? 'Stop' : 'Report'}
  </button>
);

const SheetButton = () => (
  <button type="button" onClick={openSheet} title="Open the build sheet of the lamp as shown: two A4 pages with order list, wiring, placement and first power-up">
    {making.value === 'build-sheet' ? 'Stop' : 'Build sheet'}
  </button>
);

/** Papers is the buttons of all of them; where there is no room, in one menu. */
export const Papers = () => (
  <>
    <span class="papers-wide"><ReportButton /> <SheetButton /></span>
    <details class="papers" onKeyDown={(e) => { if (e.key === 'Escape') closeMenu(e); }}>
      <summary title="Tables of the lamp as shown, for a spreadsheet"><span class="papers-wide">CSV</span><span class="papers-narrow">Papers</span></summary>
      <div>
        <span class="papers-narrow"><ReportButton /><SheetButton /></span>
        {([['order-list', 'Order list'], ['placement', 'Placement']] as const).map(([key, what]) => (
          <button type="button" onClick={(e) => { closeMenu(e); void download(key, what.toLowerCase()); }}>{what}<span class="papers-narrow"> (CSV)</span></button>
        ))}
        <span class="papers-narrow"><button type="button" onClick={(e) => { closeMenu(e); openHelp(); }}>Help</button></span>
      </div>
    </details>
  </>
);
