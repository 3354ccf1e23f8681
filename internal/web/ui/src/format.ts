// Numbers as text, and round numbers on axes.

export const celsius = (k: number, digits = 1) => `${(k - 273.15).toFixed(digits)} °C`;
export const mm = (m: number) => `${String(Math.round(m * 1e4) / 10).replace('-', '−')} mm`;
// Made once: a format costs more to make than to use.
const plain = new Intl.NumberFormat('en', { maximumFractionDigits: 9, useGrouping: false }), grouped = new Intl.NumberFormat('en', { maximumFractionDigits: 9 });
/** inFull prints a number as it is, with a true minus, and with its thousands apart from ten of them on. */
export const inFull = (v: number) => (Math.abs(v) >= 1e4 ? grouped : plain).format(v).replace('-', '−');
export const num = (v: number, digits = 3) => inFull(Number(v.toPrecision(digits)));

/** printed is the number of a printed text: with a true minus, and with commas between its thousands. */
export const printed = (text: string) => Number(text.replaceAll(',', '').replace('−', '-'));

/** shortRange states the unit of a range once: "159 to 169 lx" of "159 lx to 169 lx". */
export const shortRange = (range: string) => range.replace(/^(\S+) (\S+) to (\S+) \2$/, '$1 to $3 $2');

/** roundTicks are the multiples of 1, 2 or 5 times a power of ten from lo to hi, with at most so many steps between. */
export function roundTicks(lo: number, hi: number, steps: number): number[] {
  const raw = (hi - lo) / steps;
  if (!(raw > 0) || !Number.isFinite(raw)) return [lo];
  const ten = 10 ** Math.floor(Math.log10(raw));
  const step = ten * [1, 2, 5, 10].find((f) => f * ten >= raw * (1 - 1e-9))!;
  const out: number[] = [];
  for (let k = Math.ceil(lo / step - 1e-9); k <= hi / step + 1e-9; k++) out.push(Number((k * step).toPrecision(12)));
  return out;
}
