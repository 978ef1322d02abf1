let nothing = false;

/** Keeps whether what was asked for last found nothing. */
export function noteFound(rows: number): void {
  nothing = rows === 0;
}

/** Whether the last search found nothing: the next one then starts anew. */
export const missed = (): boolean => nothing;
