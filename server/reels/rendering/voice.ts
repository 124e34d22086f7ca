import { createHash } from 'node:crypto';
import { stat, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { hasTool, runTool } from '../../films/looking/tool-process.ts';
import type { ReelPlan } from '../plan/reel-plan.ts';
import type { ClipInput } from './clip.ts';
import { renderLimits } from './limits.ts';
import { levelVoice } from './loudness.ts';
import { requireDone } from './trouble.ts';

export interface Voice {
  readonly sound: ClipInput;
  /** At 48 kHz. */
  readonly samples: number;
}

/** Words a minute that are asked of the scratch voice, which speaks 8 to 9 % faster than it is asked to. */
const spokenRate = 150;
const wavHead = 44;
const bytesASample = 4;

/** The voice of a play, brought to its loudness; or a sentence that says why there is none; null where none is meant. */
export async function voiceOf(
  { number, voice, narration }: ReelPlan['plays'][number],
  folder: string,
  signal: AbortSignal,
): Promise<Voice | { readonly missing: string } | null> {
  if (voice === null) return null;
  const to = path.join(folder, `voice-${number}.wav`);
  if (!(await hasTool('espeak-ng')))
    return { missing: `Play ${number} is not read aloud: espeak-ng is not installed on this server.` };
  const text = path.join(folder, `voice-${number}.txt`);
  const spoken = path.join(folder, `spoken-${number}.wav`);
  await writeFile(text, narration);
  const ended = await runTool(
    'espeak-ng',
    ['-v', 'en-us', '-s', String(spokenRate), '-w', spoken, '-f', text],
    renderLimits,
    signal,
    () => {},
  );
  requireDone(ended, `Reading play ${number} aloud`);
  await levelVoice({ file: spoken, options: ['-protocol_whitelist', 'file', '-f', 'wav'] }, to, signal);
  return levelled(to, `spoken ${createHash('sha256').update(narration).digest('hex')} ${spokenRate}`);
}

async function levelled(file: string, identity: string): Promise<Voice> {
  const { size } = await stat(file);
  return {
    sound: { options: ['-protocol_whitelist', 'file', '-f', 'wav'], file, identity },
    samples: Math.max(0, Math.floor((size - wavHead) / bytesASample)),
  };
}
