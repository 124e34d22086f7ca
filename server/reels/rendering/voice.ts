import { createHash } from 'node:crypto';
import { stat, writeFile } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { bytesOf } from '../../films/film-files.ts';
import { hasTool, runTool } from '../../films/looking/tool-process.ts';
import { findRecording } from '../../narration/recording-store.ts';
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
/** A sentence that says why there is none. */
interface MissingVoice {
  readonly missing: string;
}
type PlayToSpeak = ReelPlan['plays'][number];

/** Words a minute that are asked of the scratch voice, which speaks 8 to 9 % faster than it is asked to. */
const spokenRate = 150;
const bytesASample = 4;

interface VoicesFrom {
  readonly app: FastifyInstance;
  readonly conferenceId: string;
  /** Where what is made for this reel alone lies. */
  readonly folder: string;
  readonly signal: AbortSignal;
}

/** The voice of a play, brought to its loudness; null where none is meant. */
export async function voiceOf(play: PlayToSpeak, of: VoicesFrom): Promise<Voice | MissingVoice | null> {
  if (play.voice === null) return null;
  return play.voice.kind === 'spoken'
    ? spokenVoice(play, of)
    : recordedVoice(play.number, play.voice.recordingId, of);
}

async function spokenVoice(
  { number, narration }: PlayToSpeak,
  { folder, signal }: VoicesFrom,
): Promise<Voice | MissingVoice> {
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
  return levelled(to, {
    identity: `spoken ${createHash('sha256').update(narration).digest('hex')} ${spokenRate}`,
  });
}

async function recordedVoice(
  number: number,
  recordingId: string,
  { app, conferenceId, folder, signal }: VoicesFrom,
): Promise<Voice | MissingVoice> {
  const recording = await findRecording(app.database.pool, conferenceId, recordingId);
  const file = app.narration.files.kept(conferenceId, recordingId);
  if (!recording)
    return {
      missing: `The voice of play ${number} is not heard: its recording was removed. Record it again.`,
    };
  if ((await bytesOf(file)) === 0)
    return {
      missing: `The voice of play ${number} is not heard: its recording’s file is no longer on the server. Whoever runs the server copies it back, or record it again.`,
    };
  const to = path.join(folder, `voice-${number}.wav`);
  await levelVoice({ file, options: ['-protocol_whitelist', 'file', '-f', 'flac'] }, to, signal);
  return levelled(to, { identity: `recorded ${recording.sha256}`, recordingId });
}

async function levelled(file: string, more: Pick<ClipInput, 'identity' | 'recordingId'>): Promise<Voice> {
  const { size } = await stat(file);
  return {
    sound: { options: ['-protocol_whitelist', 'file', '-f', 'wav'], file, ...more },
    samples: Math.max(0, Math.floor((size - wavHead) / bytesASample)),
  };
}

const wavHead = 44;
