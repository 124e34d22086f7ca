/** Said beside a game that more than one observer saw; empty else. */
export function watchedBy(observers: number): string {
  if (observers < 2) return '';
  return observers === 2 ? 'two observers' : `${observers} observers`;
}
