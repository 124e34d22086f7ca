import type { Cut } from '../../../timeline/cut.ts';
import { withToken } from '../../../web/browser/with-token.ts';
import type { FrameStretch } from './frame-index.ts';

/** How a play is cut, as the API tells it. */
export interface CutAnswer {
  readonly isKept: boolean;
  readonly version: number;
  readonly cut: Cut | null;
  readonly lacking: string | null;
  readonly changedBy: string | null;
  readonly films: readonly EditorFilm[];
  readonly recordings: readonly EditorRecording[];
}
export interface EditorRecording {
  readonly id: string;
  readonly seconds: number;
  readonly address: string;
  readonly madeBy: string;
}
export interface EditorFilm {
  readonly id: string;
  readonly angle: string;
  readonly address: string;
  readonly seconds: number;
  readonly rate: number;
  readonly sound: boolean;
  readonly notes: readonly string[];
  readonly snap: { readonly seconds: number; readonly by: string } | null;
}

/** What the server answered instead, in a sentence; `status` 0: it was not reached. */
export class NotDone extends Error {
  constructor(
    readonly status: number,
    sentence: string,
  ) {
    super(sentence);
  }
}

/** Asks the API. @throws NotDone with its sentence */
export async function ask<T>(address: string, request: RequestInit & { json?: unknown } = {}): Promise<T> {
  const { json, ...init } = request;
  let answer: Response;
  try {
    answer = await withToken(address, {
      ...init,
      cache: 'no-store',
      headers: {
        ...(json === undefined ? {} : { 'content-type': 'application/json' }),
        ...(init.headers as Record<string, string>),
      },
      ...(json === undefined ? {} : { body: JSON.stringify(json) }),
    });
  } catch {
    throw new NotDone(0, 'There is no connection to the server.');
  }
  if (answer.ok) return (answer.status === 204 ? undefined : await answer.json()) as T;
  const told = (await answer.json().catch(() => ({}))) as { detail?: string };
  if (answer.status === 401)
    throw new NotDone(401, 'You are no longer signed in: sign in again in another tab, then come back here.');
  throw new NotDone(answer.status, told.detail ?? `The server answered ${answer.status}.`);
}

export const framesOf = (film: EditorFilm, from: number, to: number): Promise<FrameStretch> =>
  ask(`/api${film.address.replace(/\/file$/, '')}/frames?from=${from.toFixed(3)}&to=${to.toFixed(3)}`);
