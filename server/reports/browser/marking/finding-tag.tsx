import { findingInWords } from '../../../duties/consequence.ts';
import { effectOf } from '../../../duties/finding.ts';
import type { EntryMark } from '../../entry/entry-snapshot.ts';

export function FindingTag({ mark: { finding, consequence } }: { mark: EntryMark }) {
  const effect = effectOf(finding);
  const look = finding === 'model' ? 'good' : effect === 'not met' ? 'bad' : effect === 'met' ? 'good' : '';
  return <span class={`tag ${look}`}>{findingInWords(finding, consequence)}</span>;
}
