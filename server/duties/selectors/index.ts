import { byKick } from './by-kick.ts';
import { byRecord } from './by-record.ts';
import { bySide } from './by-side.ts';
import { byZone } from './by-zone.ts';
import type { Selector } from './selector.ts';

const all = [...bySide, ...byZone, ...byKick, ...byRecord];
type SelectorKey = (typeof all)[number]['key'];

export const selectors: readonly Selector[] = all;
export const selectorKeys = all.map((selector) => selector.key) as [SelectorKey, ...SelectorKey[]];

const byKey = new Map<string, Selector>(all.map((selector) => [selector.key, selector]));

/** The selector of that name. Keys are validated before they get here. */
export function selectorOf(key: SelectorKey): Selector {
  return byKey.get(key)!;
}

export type { Selector } from './selector.ts';
