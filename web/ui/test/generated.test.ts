// @vitest-environment node
import { expect, test } from "vitest";
import { typesOfApi, typesOfLive } from "./typesof";

// "make types" writes them; here they are found to be what it would write.
test("the types of the API are those of its document", async () => {
  await expect(await typesOfApi()).toMatchFileSnapshot("../src/generated/api.ts");
});

test("the types of live frames are those of their document", async () => {
  await expect(await typesOfLive()).toMatchFileSnapshot("../src/generated/live.ts");
});
