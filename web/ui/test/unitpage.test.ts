import { describe, expect, it } from "vitest";
import { levelColumns, levelRows } from "../src/unit/levels";
import { spread } from "../src/unit/names";
import { columns, drawnOf } from "../src/unit/trace";
import { at } from "./make";

describe("names at the ends of lines", () => {
  it("stand apart, in the order of their lines, and never below the drawing", () => {
    const out = spread([{ n: "c", y: 99 }, { n: "a", y: 97 }, { n: "b", y: 98 }, { n: "top", y: 10 }], 17, 100);
    expect(out.map((e) => e.n)).toEqual(["top", "a", "b", "c"]);
    expect(out.map((e) => e.y)).toEqual([10, 66, 83, 100]);
  });
  it("stay where they are while there is room", () => {
    expect(spread([{ y: 50 }, { y: 20 }], 17, 100).map((e) => e.y)).toEqual([20, 50]);
  });
});

describe("what is drawn of the temperatures", () => {
  it("leaves room and dryer to the table as soon as a bath was heard", () => {
    expect(drawnOf(columns([{ at: at(0), room_c: 20, dryer_c: 44 }]))).toEqual(["room_c", "dryer_c"]);
    expect(drawnOf(columns([{ at: at(0), room_c: 20, dryer_c: 44, wash_c: 38 }, { at: at(5), bath_c: 37.8 }]))).toEqual(["bath_c", "wash_c"]);
  });
});

describe("levels over time", () => {
  const points = [{ at: at(0), levels_l: { waste: 4 } }, { at: at(60), levels_l: { waste: 4.5, wash: 12 } }, { at: at(400), levels_l: { wash: 11 } }];
  it("are a column a container, empty where it was not heard", () => {
    const c = levelColumns(points);
    expect(c.names).toEqual(["wash", "waste"]);
    expect(c.of).toEqual({ wash: [null, 12, 11], waste: [4, 4.5, null] });
    expect(c.t[1]! - c.t[0]!).toBe(60);
  });
  it("are a row a stretch in the table, its last level, newest first", () => {
    expect(levelRows(points, 5).map((r) => r.at)).toEqual([at(400), at(60)]);
  });
});
