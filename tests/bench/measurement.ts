/** One figure of a benchmark, always beside something measured (or set as a goal) in the same run. */
export interface Measurement {
  /** What was measured: `<benchmark>: <what>`. */
  name: string;
  value: number;
  unit: string;
  /** What it stands beside, with that value; null when beside nothing. */
  against: string | null;
  /** value ÷ the value it stands beside; null when beside nothing. */
  ratio: number | null;
}
