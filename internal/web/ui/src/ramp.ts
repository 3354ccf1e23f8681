// Colour scales from little to much: the same paths through CIELAB as internal/draw/colour.go has. Lightness rises evenly, so
// that a grey print keeps the order, and hue goes from blue to yellow, which all common kinds of colour blindness keep apart.

type Ramp = { l0: number; l1: number; a: [number, number, number]; b: [number, number, number] };
const light: Ramp = { l0: 24, l1: 96, a: [14, -6, -4], b: [-38, -8, 56] };
const heat: Ramp = { l0: 22, l1: 96, a: [22, 52, -4], b: [-40, 18, 52] };

const linear = (t: number) => (t > 6 / 29 ? t * t * t : 3 * (6 / 29) ** 2 * (t - 4 / 29));
const eight = (v: number) => {
  v = Math.min(Math.max(v, 0), 1);
  return Math.round(255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055));
};

function at(r: Ramp, t: number): [number, number, number] {
  const bend = ([p, q, s]: [number, number, number]) => (1 - t) * (1 - t) * p + 2 * t * (1 - t) * q + t * t * s;
  const fy = (r.l0 + (r.l1 - r.l0) * t + 16) / 116;
  const x = 0.95047 * linear(fy + bend(r.a) / 500), y = linear(fy), z = 1.08883 * linear(fy - bend(r.b) / 200);
  return [
    eight(3.2404542 * x - 1.5371385 * y - 0.4985314 * z),
    eight(-0.969266 * x + 1.8760108 * y + 0.041556 * z),
    eight(0.0556434 * x - 0.2040259 * y + 1.0572252 * z),
  ];
}

const table = (r: Ramp) => Array.from({ length: 256 }, (_, i) => at(r, i / 255));
export const lightTable = table(light);
export const heatTable = table(heat);

/** paint fills a canvas with one pixel a cell, the first row at the bottom; cells that are not to be seen stay clear. */
export function paint(c: HTMLCanvasElement, nx: number, ny: number, cells: number[], lo: number, hi: number, colours: [number, number, number][], seen: (v: number) => boolean) {
  c.width = nx;
  c.height = ny;
  const g = c.getContext('2d');
  if (!g) return;
  const image = g.createImageData(nx, ny);
  for (let j = 0; j < ny; j++) {
    for (let i = 0; i < nx; i++) {
      const v = cells[j * nx + i]!;
      if (!seen(v)) continue;
      const p = colours[Math.min(255, Math.max(0, Math.round((255 * (v - lo)) / (hi - lo || 1))))]!;
      image.data.set([...p, 255], 4 * ((ny - 1 - j) * nx + i));
    }
  }
  g.putImageData(image, 0, 0);
}
