// Quantities that a person typed or a part file states: number and unit.

/** read splits a quantity into its number and its unit. */
const read = (text: string) => {
  const m = /^\s*([-+−]?[\d.]+(?:e[-+]?\d+)?)\s*(.*?)\s*(?:±.*)?$/i.exec(text);
  return m ? { n: Number(m[1]!.replace('−', '-')), unit: m[2]! } : null;
};
const factors: Record<string, number> = { m: 1e-3, µ: 1e-6, μ: 1e-6, k: 1e3 };
const plain = new Set(['A', 'V', 'W', 'm', 'Ω', 'lm', 'Hz', 's']);

/** column reads quantities of one unit, with or without the prefixes m, µ and k; null if they do not fit on one axis. */
export function column(texts: string[]): { unit: string; values: number[] } | null {
  const all = texts.map(read);
  if (all.length === 0 || all.some((q) => !q || !Number.isFinite(q.n))) return null;
  const units = [...new Set(all.map((q) => q!.unit))];
  if (units.length === 1) return { unit: units[0]!, values: all.map((q) => q!.n) };
  const base = units.map((u) => (plain.has(u.slice(1)) && u[0]! in factors ? u.slice(1) : u));
  if (new Set(base).size > 1) return null;
  return { unit: base[0]!, values: all.map((q) => (q!.unit === base[0] ? q!.n : q!.n * factors[q!.unit[0]!]!)) };
}

/** metres is the length of each unit. */
const metres: Record<string, number> = { m: 1, cm: 1e-2, mm: 1e-3, µm: 1e-6, μm: 1e-6, um: 1e-6, nm: 1e-9, km: 1e3, in: 0.0254, mil: 2.54e-5 };

/** length is a length as a file states it, in metres; null where it is none. */
export function length(text: string): number | null {
  const [, number, unit] = /^\s*([-+−]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?)\s*(\S+)\s*$/i.exec(text) ?? [];
  return number && unit! in metres ? Number(number.replace('−', '-')) * metres[unit!]! : null;
}

/** lengthOf returns a typed length in metres; a number without a unit is in millimetres. */
export function lengthOf(text: string): number | null {
  const m = /^\s*([-+−]?(?:\d+[.,]?\d*|[.,]\d+))\s*(\S*)\s*$/.exec(text);
  const unit = m && metres[m[2] || 'mm'];
  return m && unit ? Number(m[1]!.replace('−', '-').replace(',', '.')) * unit : null;
}
