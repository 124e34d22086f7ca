export function yardsText(gain: number): string {
  if (gain === 0) return 'no gain';
  const yards = Math.abs(gain) === 1 ? 'yard' : 'yards';
  return gain > 0 ? `${gain} ${yards}` : `loss of ${-gain} ${yards}`;
}

export function depthText(depth: number): string {
  if (depth === 0) return 'at the line';
  const yards = Math.abs(depth) === 1 ? 'yard' : 'yards';
  return depth > 0 ? `${depth} ${yards} downfield` : `${-depth} ${yards} behind the line`;
}
