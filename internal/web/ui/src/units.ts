// The units in which lengths and temperatures are shown. Files, fields and exchanged data keep the units that they are written in.
import { computed, Signal, signal } from '@preact/signals';
import { options, VNode } from 'preact';
import { printed } from './format';

export type Units = 'metric' | 'inch';

const key = 'lampwright units';
const kept = (): Units => { try { return localStorage.getItem(key) === 'inch' ? 'inch' : 'metric'; } catch { return 'metric'; } };

export const units = signal<Units>(kept());

const number = String.raw`[−-]?\d[\d,]*(?:\.\d+)?`;
const lengths = new RegExp(`(${number})(?:( (?:to|×) )(${number}))?(\\s)(mm|m)(?![\\w²³/·])`, 'g');
const degrees = new RegExp(`(${number})(?:( to )(${number}))?(\\s)°C`, 'g');

const digits = (t: string) => (t.split('.')[1] ?? '').length;
const write = (v: number, n: number) => v.toFixed(n).replace('-', '−');

/** inInches returns a text with its lengths in inches and its temperatures in degrees Fahrenheit. Differences of temperature stay in kelvin. */
export function inInches(text: string): string {
  if (!/\d\s(?:mm|m|°C)/.test(text)) return text;
  const inch = (t: string, unit: string) => write((printed(t) * (unit === 'm' ? 1000 : 1)) / 25.4, Math.max(0, unit === 'm' ? digits(t) : digits(t) + 2));
  const fahrenheit = (t: string) => write(printed(t) * 1.8 + 32, digits(t));
  return text
    .replace(lengths, (_, a: string, link: string | undefined, b: string | undefined, space: string, unit: string) => `${inch(a, unit)}${link ? link + inch(b!, unit) : ''}${space}in`)
    .replace(degrees, (_, a: string, link: string | undefined, b: string | undefined, space: string) => `${fahrenheit(a)}${link ? link + fahrenheit(b!) : ''}${space}°F`);
}

// Every text that the page shows goes through Preact once; what is typed, files and formulas do not.
const asWritten = new Set(['textarea', 'code', 'pre', 'option', 'style']);
const before = options.vnode;
/** converted is a child of an element in the chosen units; a text that changes by itself goes on doing so. */
const converted = (child: unknown): unknown =>
  typeof child === 'string' ? inInches(child) : child instanceof Signal ? computed(() => { const v: unknown = child.value; return typeof v === 'string' ? inInches(v) : v; }) : child;
options.vnode = (v: VNode) => {
  if (units.peek() === 'inch' && typeof v.type === 'string' && !asWritten.has(v.type)) {
    const p = v.props as { children?: unknown; dangerouslySetInnerHTML?: { __html: string } };
    p.children = Array.isArray(p.children) ? p.children.map(converted) : converted(p.children);
    if (p.dangerouslySetInnerHTML) p.dangerouslySetInnerHTML = { __html: p.dangerouslySetInnerHTML.__html.replace(/>[^<]+</g, inInches) };
  }
  before?.(v);
};

/** setUnits changes the units, and draws the page anew. */
export function setUnits(to: Units) {
  try { localStorage.setItem(key, to); } catch { /* a browser that keeps nothing */ }
  units.value = to;
}
