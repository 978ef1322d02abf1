export interface Page {
  send(method: string, params?: Record<string, unknown>): Promise<Record<string, unknown>>;
  troubles: string[];
  listen(f: (message: { method: string; params: Record<string, unknown> }) => void): () => void;
  size(width: number, height: number, scale?: number): Promise<unknown>;
  open(url: string): Promise<void>;
  value<T = unknown>(expression: string): Promise<T>;
  until(expression: string, ms?: number): Promise<unknown>;
  paper(): Promise<Buffer>;
  picture(clip?: Record<string, number>): Promise<Buffer>;
  close(): Promise<unknown>;
}
export interface Chromium {
  pid: number;
  page(size?: { width?: number; height?: number; scale?: number; touch?: boolean } | undefined): Promise<Page>;
  close(): Promise<void>;
}
export function serveFolder(root: string): Promise<{ address: string; close(): Promise<void> }>;
export function startChromium(flags?: string[]): Promise<Chromium>;
