import { render } from "preact";
import { App } from "./app";
import { server } from "./api/server";
import { followScheme, followWidth } from "./state/prefs";
import { Store } from "./state/store";
import "./style/all.css";

followScheme(document.documentElement);
followWidth();
const store = new Store(server);
void store.start();
render(<App store={store} />, document.getElementById("app") as HTMLElement);
