import { useEffect, useRef } from 'preact/hooks';
import { inFull, num, roundTicks } from './format';
import { paint } from './ramp';

const ramp = Array.from({ length: 256 }, (_, i) => i);

/** Band is what is wanted of a quantity: from, to, or both. */
export interface Band { min?: number | undefined; max?: number | undefined }

/** Scale is the colour scale of a map, with round numbers at their places and what is wanted marked under it. */
export function Scale({ lo, hi, unit, colours, band }: { lo: number; hi: number; unit: string; colours: Uint32Array; band?: Band | undefined }) {
  const c = useRef<HTMLCanvasElement>(null);
  useEffect(() => { if (c.current) paint(c.current, 256, 1, ramp, 0, 255, colours); }, [colours]);
  const at = (v: number) => `${100 * Math.min(1, Math.max(0, (v - lo) / (hi - lo || 1)))}%`;
  const from = band?.min ?? lo, to = Math.min(band?.max ?? hi, hi);
  return (
    <div class="scale" role="img" aria-label={`Colours run from ${num(lo)} to ${num(hi)} ${unit}; lighter is more.`}>
      <div class="bar">
        <canvas ref={c} />
        {band && to > from && <i class="requiredband" style={{ left: at(from), right: `calc(100% - ${at(to)})` }} />}
      </div>
      <div class="ticks" aria-hidden="true">{roundTicks(lo, hi, 5).map((t) => <span key={t} style={{ left: at(t) }}>{inFull(t)}</span>)}</div>
      <div class="unit" aria-hidden="true">{unit}</div>
    </div>
  );
}
