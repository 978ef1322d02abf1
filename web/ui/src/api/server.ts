import { wallKey } from "../state/kiosk";
import { call } from "./http";
import { LiveSocket } from "./socket";
import type { Source } from "./source";

/** The real thing: the server that these pages came from. */
export const server: Source = {
  listen(on) {
    const scheme = location.protocol === "https:" ? "wss:" : "ws:";
    // A browser's socket carries no header: the key of a wall goes in the address.
    const key = wallKey() ? `?key=${encodeURIComponent(wallKey())}` : "";
    return new LiveSocket(`${scheme}//${location.host}/api/v1/live${key}`, on);
  },
  get: (path) => call("GET", path),
  send: (method, path, body) => call(method, path, body),
};
