import { useEffect, useRef } from 'preact/hooks';
import { num } from './parts';
import { paint } from './ramp';

const ramp = Array.from({ length: 256 }, (_, i) => i);

/** Scale is the colour scale of a map, with numbers at its ends and between. */
export function Scale({ lo, hi, unit, colours }: { lo: number; hi: number; unit: string; colours: Uint32Array }) {
  const c = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    if (c.current) paint(c.current, 256, 1, ramp, 0, 255, colours);
  }, []);
  return (
    <div class="scale" role="img" aria-label={`Colours run from ${num(lo)} to ${num(hi)} ${unit}; lighter is more.`}>
      <canvas ref={c} />
      <div class="ticks" aria-hidden="true">{[0, 0.25, 0.5, 0.75, 1].map((t) => <span>{num(lo + t * (hi - lo))}</span>)}</div>
      <div class="unit" aria-hidden="true">{unit}</div>
    </div>
  );
}
