import { call } from "./http";
import { LiveSocket } from "./socket";
import type { Source } from "./source";

/** The real thing: the server that these pages came from. */
export const server: Source = {
  listen(on) {
    const scheme = location.protocol === "https:" ? "wss:" : "ws:";
    return new LiveSocket(`${scheme}//${location.host}/api/v1/live`, on);
  },
  get: (path) => call("GET", path),
  send: (method, path, body) => call(method, path, body),
};
