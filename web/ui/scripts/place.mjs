// Puts the built pages into ../dist without touching notice.html there: what
// an earlier build left goes, what is committed stays.
import { cp, mkdir, readdir, rm } from "node:fs/promises";
import { fileURLToPath } from "node:url";

const from = fileURLToPath(new URL("../build/", import.meta.url));
const to = fileURLToPath(new URL("../../dist/", import.meta.url));

await mkdir(to, { recursive: true });
for (const name of await readdir(to)) {
  if (name !== "notice.html") await rm(to + name, { recursive: true });
}
await cp(from, to, { recursive: true });
await rm(from, { recursive: true });
console.log("pages placed in web/dist");
