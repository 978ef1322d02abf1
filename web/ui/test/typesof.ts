// Writes types out of the documents that describe what is sent: the OpenAPI
// document as it is served, and the frames of the live socket by the AsyncAPI
// document.
import { readFileSync } from "node:fs";
import openapiTS, { astToString, type OpenAPI3 } from "openapi-typescript";
import ts from "typescript";
import { parse } from "yaml";

type Schema = Record<string, unknown>;
interface Described {
  channels?: Record<string, { messages: Record<string, { $ref: string }> }>;
  components: { schemas: Record<string, Schema>; messages?: Record<string, { payload: { $ref: string } }> };
}

const head = "// Written by: make types. Not to be changed by hand.\n";
const toApi = "./openapi.yaml#/components/schemas/";

function read(path: string): Described {
  return parse(readFileSync(new URL(path, import.meta.url), "utf8")) as Described;
}

/** What the API takes and sends. */
export async function typesOfApi(): Promise<string> {
  return head + (await types(read("../../testdata/openapi.yaml").components.schemas));
}

/** The frames of the live socket; units and alerts in them are those of the API. */
export async function typesOfLive(): Promise<string> {
  const doc = read("../../asyncapi.yaml");
  const frames = Object.keys(doc.channels?.live?.messages ?? {}).map((name) => last(doc.components.messages?.[name]?.payload.$ref));
  const schemas: Record<string, Schema> = { Frame: { oneOf: frames.map((name) => ({ $ref: `#/components/schemas/${name}` })) } };
  const fromApi = new Set<string>();
  const take = (name: string) => {
    if (schemas[name]) return;
    schemas[name] = walk(doc.components.schemas[name], (ref) => {
      if (!ref.startsWith(toApi)) return void take(last(ref));
      fromApi.add(last(ref));
      return { type: "object", "x-api": last(ref) };
    }) as Schema;
  };
  frames.forEach(take);
  const inject = `import type { ${[...fromApi].sort().join(", ")} } from "./api";\n`;
  return head + (await types(schemas, inject));
}

/** Gives a schema with each reference to another put through a function, which may give what stands in its place. */
function walk(v: unknown, swap: (ref: string) => Schema | void): unknown {
  if (Array.isArray(v)) return v.map((e) => walk(e, swap));
  if (typeof v !== "object" || v === null) return v;
  const ref = (v as Schema).$ref;
  if (typeof ref === "string") return swap(ref) ?? v;
  return Object.fromEntries(Object.entries(v).map(([key, e]) => [key, walk(e, swap)]));
}

function last(ref: string | undefined): string {
  return ref?.split("/").at(-1) ?? "";
}

async function types(schemas: Record<string, Schema>, inject = ""): Promise<string> {
  const doc = { openapi: "3.1.0", info: { title: "", version: "" }, paths: {}, components: { schemas } };
  const nodes = await openapiTS(doc as OpenAPI3, {
    inject,
    alphabetize: true,
    rootTypes: true,
    rootTypesNoSchemaPrefix: true,
    rootTypesKeepCasing: true,
    transform: (schema) => ("x-api" in schema ? ts.factory.createTypeReferenceNode(String(schema["x-api"])) : undefined),
  });
  return astToString(nodes);
}
