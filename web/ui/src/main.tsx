import { render } from "preact";
import { App } from "./app";
import { server } from "./api/server";
import { followWall } from "./state/kiosk";
import { followScheme, followWidth } from "./state/prefs";
import { callAloud } from "./state/sound";
import { Store } from "./state/store";
import "./style/all.css";

followScheme(document.documentElement);
followWidth();
followWall(document.documentElement);
const store = new Store(server);
store.eachSecond.add(callAloud(store));
void store.start();
render(<App store={store} />, document.getElementById("app") as HTMLElement);
