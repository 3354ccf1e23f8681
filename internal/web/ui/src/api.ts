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

export const get = async <T>(path: string): Promise<T> => answer<T>(await fetch(path));

export const post = async <T>(path: string, body: unknown, signal?: AbortSignal): Promise<T> =>
  answer<T>(await fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body), signal }));
