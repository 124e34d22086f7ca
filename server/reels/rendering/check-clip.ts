import { z } from 'zod';
import { runTool } from '../../films/looking/tool-process.ts';
import { samplesIn } from '../../timeline/shot-frames.ts';
import { frameTicks, pictureSize, sampleRate, timescale } from './constants.ts';
import { probeLimits } from './limits.ts';

const probed = z.object({ streams: z.array(z.record(z.string(), z.unknown())) });

/**
 * Holds a finished clip against what every clip has: one with other parameters joins without a word and is wrong.
 * @returns what is wrong; empty when it is right
 */
export async function wrongWithClip(file: string, frames: number, signal: AbortSignal): Promise<string[]> {
  let answer = '';
  const { code } = await runTool(
    'ffprobe',
    [
      ...['-v', 'error', '-protocol_whitelist', 'file', '-count_packets', '-show_streams', '-of', 'json'],
      `file:${file}`,
    ],
    probeLimits,
    signal,
    (line) => {
      answer += line;
    },
  );
  if (code !== 0) return ['it cannot be read'];
  const { streams } = probed.parse(JSON.parse(answer));
  const samples = samplesIn(frames);
  const wanted: Record<string, unknown>[] = [
    {
      ...{ codec_name: 'h264', pix_fmt: 'yuv420p', ...pictureSize, sample_aspect_ratio: '1:1' },
      ...{ r_frame_rate: `${timescale}/${frameTicks}`, time_base: `1/${timescale}`, start_pts: 0 },
      ...{ nb_read_packets: String(frames), duration_ts: frames * frameTicks },
    },
    {
      ...{ codec_name: 'pcm_s16le', sample_rate: String(sampleRate), channels: 2, start_pts: 0 },
      ...{ time_base: `1/${sampleRate}`, duration_ts: samples },
    },
  ];
  if (streams.length !== wanted.length) return [`it has ${streams.length} streams, not ${wanted.length}`];
  return wanted.flatMap((fields, at) =>
    Object.entries(fields).flatMap(([name, value]) =>
      streams[at]![name] === value ? [] : [`${name} is ${streams[at]![name]}, not ${value}`],
    ),
  );
}
