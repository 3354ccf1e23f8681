// The one drawing of a value against its limits: hairline, band, end marks, needle, range, and a ring where the file's value is.
import { Limited, placesOf, stateOf } from './limits';

/** LimitBar draws a value against its limits. What it shows stands in words beside it. */
export function LimitBar({ v, tone = '', tried = false, stale = false }: { v: Limited; tone?: 'stop' | 'warn' | ''; tried?: boolean; stale?: boolean }) {
  const p = placesOf(v), state = stateOf(v);
  const loud = tone || (state === 'out' || state === 'edge' ? 'warn' : '');
  return (
    <span class={`limitbar ${tried ? 'tried' : loud}${stale ? ' stale' : ''}`} aria-hidden="true">
      {p.band && <i class={`band${p.low ? ' low' : ''}${p.high ? ' high' : ''}`} style={{ left: `${p.band[0]}%`, width: `${Math.max(0, p.band[1] - p.band[0])}%` }} />}
      {p.range && <i class="range" style={{ left: `${p.range[0]}%`, width: `${p.range[1] - p.range[0]}%` }} />}
      {p.was !== null && <i class="was" style={{ left: `${p.was}%` }} />}
      <i class="needle" style={{ left: `${p.value}%` }} />
    </span>
  );
}
