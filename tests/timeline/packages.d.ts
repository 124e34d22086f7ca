/** The parts that are used here; the packages have no types of their own. */
declare module 'smpte-timecode' {
  export default function Timecode(frames: number, rate: number, dropFrame: boolean): { toString(): string };
}
declare module 'webvtt-parser' {
  export class WebVTTParser {
    parse(
      input: string,
      mode: 'captions',
    ): { cues: { startTime: number; endTime: number; text: string }[]; errors: unknown[] };
  }
}
