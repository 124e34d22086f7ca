/** Keeps peaks below a part of full scale. It looks 5 ms ahead; without the last setting all would be late by as much. */
export const limited = (limit: number) => `alimiter=level=0:limit=${limit}:latency=1`;
