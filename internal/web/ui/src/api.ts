// Requests to the server. The shapes of its answers are in generated.ts.
import { Clash, Problem } from './generated';

export * from './generated';

/** Failed is what the server refused, with the places it names. */
export class Failed extends Error {
  constructor(readonly status: number, message: string, readonly problems: Problem[], readonly path: string, readonly clashes: Clash[] = []) { super(message); }
}

async function answer<T>(response: Response): Promise<T> {
  const data = await response.json();
  if (!response.ok) throw new Failed(response.status, data.error ?? response.statusText, data.problems ?? [], data.path ?? '', data.clashes ?? []);
  return data as T;
}

/** page tells the server which of the open pages asks: it answers one question of a kind a page. */
export const page = Array.from(crypto.getRandomValues(new Uint8Array(8)), (b) => b.toString(16).padStart(2, '0')).join('');

/** posting is a request with a body. */
export const posting = (body: unknown, signal?: AbortSignal): RequestInit => ({ method: 'POST', headers: { 'Content-Type': 'application/json', 'X-Lampwright-Page': page }, body: JSON.stringify(body), signal });

/** project is the design that the page shows, by its id; empty for that of the command line. */
const project = new URLSearchParams(location.search).get('project') ?? '';

/** at is the address of a question about the project of the page. */
export const at = (path: string) => (project === '' ? path : `${path}${path.includes('?') ? '&' : '?'}project=${encodeURIComponent(project)}`);

export const get = async <T>(path: string): Promise<T> => answer<T>(await fetch(at(path)));

export const post = async <T>(path: string, body: unknown, signal?: AbortSignal): Promise<T> =>
  answer<T>(await fetch(at(path), posting(body, signal)));
