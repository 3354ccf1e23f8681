// Maps in colours: the scales of internal/draw, which writes them into colours.ts (see TestColours). Lightness rises evenly, so
// that a grey print keeps the order, and hue goes from blue to yellow, which all common kinds of colour blindness keep apart.
import { heat, light } from './colours';

// As 32-bit pixels, for whole maps at a time.
const little = new Uint8Array(new Uint32Array([1]).buffer)[0] === 1;
const pixels = (hex: string) => Uint32Array.from(hex.split(' '), (c) => {
  const v = parseInt(c, 16), r = v >> 16, g = (v >> 8) & 255, b = v & 255;
  return (little ? (255 << 24) | (b << 16) | (g << 8) | r : (r << 24) | (g << 16) | (b << 8) | 255) >>> 0;
});
export const lightPixels = pixels(light);
export const heatPixels = pixels(heat);

/** fill puts the colours of cells into pixels, row by row; cells that are not to be seen stay clear. */
export function fill(into: Uint32Array, cells: ArrayLike<number>, nx: number, ny: number, lo: number, hi: number, colours: Uint32Array, up: boolean, seen?: (v: number) => boolean) {
  const scale = 255 / (hi - lo || 1);
  for (let j = 0; j < ny; j++) {
    const row = (up ? j : ny - 1 - j) * nx;
    for (let i = 0; i < nx; i++) {
      const v = cells[j * nx + i]!;
      into[row + i] = seen && !seen(v) ? 0 : colours[Math.min(255, Math.max(0, Math.round((v - lo) * scale)))]!;
    }
  }
}

/** paint fills a canvas with one pixel a cell, the first row at the bottom. */
export function paint(c: HTMLCanvasElement, nx: number, ny: number, cells: ArrayLike<number>, lo: number, hi: number, colours: Uint32Array, seen?: (v: number) => boolean) {
  if (c.width !== nx || c.height !== ny) { c.width = nx; c.height = ny; }
  const g = c.getContext('2d', { willReadFrequently: true }); // pixels come from us, so that a card of graphics would only be waited for
  if (!g) return;
  const image = g.createImageData(nx, ny);
  fill(new Uint32Array(image.data.buffer), cells, nx, ny, lo, hi, colours, false, seen);
  g.putImageData(image, 0, 0);
}
