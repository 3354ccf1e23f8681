import { useEffect, useRef } from 'preact/hooks';
import { num } from './parts';

/** Scale is the colour scale of a map, with numbers at its ends and between. */
export function Scale({ lo, hi, unit, colours }: { lo: number; hi: number; unit: string; colours: [number, number, number][] }) {
  const c = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const g = c.current?.getContext('2d');
    if (!g) return;
    c.current!.width = 256;
    c.current!.height = 1;
    const image = g.createImageData(256, 1);
    colours.forEach((p, i) => image.data.set([...p, 255], 4 * i));
    g.putImageData(image, 0, 0);
  }, []);
  return (
    <div class="scale" role="img" aria-label={`Colours run from ${num(lo)} to ${num(hi)} ${unit}; lighter is more.`}>
      <canvas ref={c} />
      <div class="ticks" aria-hidden="true">{[0, 0.25, 0.5, 0.75, 1].map((t) => <span>{num(lo + t * (hi - lo))}</span>)}</div>
      <div class="unit" aria-hidden="true">{unit}</div>
    </div>
  );
}
