import { Refusal } from "./source";

const base = "/api/v1";

/** One call of the API; throws Refusal with the server's own words. */
export async function call<T>(method: string, path: string, body?: unknown): Promise<T> {
  const init: RequestInit = { method, credentials: "same-origin", headers: { accept: "application/json" } };
  if (body !== undefined) {
    const table = typeof body === "string"; // CSV, sent as it is
    init.body = table ? body : JSON.stringify(body);
    init.headers = { ...init.headers, "content-type": table ? "text/csv" : "application/json" };
  }
  let answer: Response;
  try {
    answer = await fetch(base + path, init);
  } catch {
    throw new Refusal(0, "Wetside cannot be reached. Is it running, and is this screen on its network?");
  }
  if (!answer.ok) throw new Refusal(answer.status, await problem(answer));
  if (answer.status === 204) return undefined as T;
  const text = await answer.text();
  return (text === "" ? undefined : JSON.parse(text)) as T;
}

/** The words of an RFC 9457 problem. */
async function problem(answer: Response): Promise<string> {
  try {
    const p = (await answer.json()) as { title?: string; detail?: string };
    const said = p.detail ?? p.title;
    if (said) return said;
  } catch {
    // Not a problem document; the status has to do.
  }
  return `The server refused this (${answer.status}).`;
}
