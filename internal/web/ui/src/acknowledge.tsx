// What the user leaves as it is, with a reason: under each finding, as an unsaved change of the design.
import { useState } from 'preact/hooks';
import { Finding } from './api';
import { acknowledging, entryOf, withdrawn } from './acknowledged';
import { setTrial, state, trial } from './store';

const filed = () => state.value?.lamp?.acknowledgements ?? 0;

/** today is the date of this place, as a design file has it. */
const today = () => { const d = new Date(); return `${d.getFullYear()}-${String(d.getMonth() + 1).padStart(2, '0')}-${String(d.getDate()).padStart(2, '0')}`; };

const focus = (el: HTMLElement | null) => el?.focus();

/** Acknowledge shows the reason of a finding, or asks for one. */
export function Acknowledge({ f }: { f: Finding }) {
  const [asked, setAsked] = useState(false);
  if (f.acknowledged) {
    const path = entryOf(f.acknowledged.at.path);
    return (
      <p class={path in trial.value ? 'acknowledged tried' : 'acknowledged'}>
        <b>Acknowledged:</b> {f.acknowledged.reason}{f.acknowledged.date && <span class="soft"> ({f.acknowledged.date})</span>}{f.severity === 'stop' && ' – it stays a stop.'}{' '}
        <button type="button" class="link" onClick={() => setTrial(withdrawn(trial.value, filed(), path))}>Withdraw<span class="hidden"> the acknowledgement of {f.title}</span></button>
      </p>
    );
  }
  if (f.severity === 'pass') return null;
  if (!asked) return <p class="acknowledge"><button type="button" class="link" onClick={() => setAsked(true)}>Acknowledge…<span class="hidden"> {f.title}</span></button></p>;
  const take = (e: SubmitEvent) => {
    e.preventDefault();
    const reason = String(new FormData(e.currentTarget as HTMLFormElement).get('reason')).trim();
    if (reason === '') return;
    setTrial(acknowledging(trial.value, filed(), f.check, f.subject, reason, today()));
    setAsked(false);
  };
  return (
    <form class="acknowledge" onSubmit={take}>
      <label>Reason <input type="text" name="reason" required maxLength={1000} autocomplete="off" ref={focus} onKeyDown={(e) => { if (e.key === 'Escape') setAsked(false); }} /></label>
      <button type="submit">Acknowledge</button>
      <button type="button" onClick={() => setAsked(false)}>Cancel</button>
    </form>
  );
}
