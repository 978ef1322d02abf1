// Prints, as JSON, every text of the pages that a person reads: what stands
// between tags, and strings that have words. What is filled in when a page is
// read stands as an ellipsis. Part of `make words` (internal/words).
import fs from "node:fs";
import path from "node:path";
import ts from "typescript";

const HOLE = "…";
const K = ts.SyntaxKind;
const texts = [];

/** Attributes that nobody reads. */
const silent = new Set(["class", "className", "style", "href", "src", "id", "for", "htmlFor", "name", "type", "role", "d", "viewBox", "transform", "points", "key", "inputMode", "autoComplete", "autocomplete", "rel", "method", "action", "scope", "fill", "stroke", "pattern", "aria-labelledby", "aria-controls", "aria-live", "aria-current", "preserveAspectRatio"]);

const words = (s) => /[A-Za-zäöü°]/.test(s) && (/\S\s+\S/.test(s.trim()) || /^[A-Z][a-z]{1,}[.:…]?$/.test(s.trim()) || /^[A-Z]{3,}$/.test(s.trim()) || new RegExp(`${HOLE}.*[a-z]|[a-z].*${HOLE}`).test(s));
const machinery = (s) => /^[./@#][^\s]*$/.test(s) || /^[a-z-]+(:[a-z-]+)?( [a-z-]+…?)*$/.test(s) && /^(num|plain|card|muted|row|page|line|big|chip|lane)\b/.test(s) || /^(M|m)\s?[\d.…-]/.test(s) || /^\/[\w/{}…?=&-]*$/.test(s) || /^https?:/.test(s) || /^\(m(ax|in)-width|^translate|^rotate|^matrix|px (sans|mono)|^\d[\d. …-]*$/.test(s);

function visitFile(file) {
  const source = ts.createSourceFile(file, fs.readFileSync(file, "utf8"), ts.ScriptTarget.Latest, true, file.endsWith("x") ? ts.ScriptKind.TSX : ts.ScriptKind.TS);
  const inWords = file.includes("/words/");
  const add = (node, says) => {
    const s = says.replace(/\s+/g, " ").trim();
    if (s && (inWords ? /[A-Za-z]/.test(s) : words(s)) && !machinery(s)) texts.push({ file, line: source.getLineAndCharacterOfPosition(node.getStart(source)).line + 1, says: s });
  };

  /** The text of an expression, with holes; null where it is no text. */
  const textOf = (node) => {
    if (ts.isStringLiteralLike(node)) return node.text;
    if (ts.isTemplateExpression(node)) return node.head.text + node.templateSpans.map((s) => HOLE + s.literal.text).join("");
    if (ts.isParenthesizedExpression(node)) return textOf(node.expression);
    if (ts.isBinaryExpression(node) && node.operatorToken.kind === K.PlusToken) {
      const [a, b] = [textOf(node.left), textOf(node.right)];
      return a === null && b === null ? null : (a ?? HOLE) + (b ?? HOLE);
    }
    return null;
  };
  const inner = (node) => {
    if (ts.isTemplateExpression(node)) node.templateSpans.forEach((s) => visit(s.expression));
    else if (ts.isParenthesizedExpression(node)) inner(node.expression);
    else if (ts.isBinaryExpression(node)) [node.left, node.right].forEach((n) => (textOf(n) === null ? visit(n) : inner(n)));
  };

  const children = (node) => {
    let said = "";
    for (const c of node.children) {
      if (ts.isJsxText(c)) said += c.text;
      else if (ts.isJsxExpression(c)) {
        const t = c.expression ? textOf(c.expression) : "";
        said += t ?? HOLE;
        if (c.expression) t === null ? visit(c.expression) : inner(c.expression);
      } else {
        said += HOLE;
        visit(c);
      }
    }
    if (/[A-Za-z]/.test(said)) texts.push({ file, line: source.getLineAndCharacterOfPosition(node.getStart(source)).line + 1, says: said.replace(/\s+/g, " ").trim() });
  };

  function visit(node) {
    switch (true) {
      case ts.isImportDeclaration(node) || ts.isExportDeclaration(node) || ts.isTypeNode(node) || ts.isInterfaceDeclaration(node) || ts.isTypeAliasDeclaration(node):
        return;
      case ts.isJsxAttribute(node):
        if (silent.has(node.name.getText(source)) && node.initializer && ts.isStringLiteral(node.initializer)) return;
        if (silent.has(node.name.getText(source)) && node.initializer && ts.isJsxExpression(node.initializer) && node.initializer.expression && textOf(node.initializer.expression) !== null) return;
        break;
      case ts.isJsxElement(node) || ts.isJsxFragment(node):
        if (ts.isJsxElement(node)) visit(node.openingElement);
        children(node);
        return;
      case ts.isPropertyAssignment(node):
        visit(node.initializer);
        return;
      case ts.isElementAccessExpression(node):
        visit(node.expression);
        if (textOf(node.argumentExpression) === null) visit(node.argumentExpression);
        return;
      case ts.isCaseClause(node):
        node.statements.forEach(visit);
        return;
      case ts.isBinaryExpression(node) && [K.EqualsEqualsEqualsToken, K.ExclamationEqualsEqualsToken].includes(node.operatorToken.kind):
        [node.left, node.right].forEach((n) => textOf(n) === null && visit(n));
        return;
    }
    const t = textOf(node);
    if (t !== null) {
      add(node, t);
      inner(node);
      return;
    }
    ts.forEachChild(node, visit);
  }
  visit(source);
}

for (const name of fs.readdirSync("src", { recursive: true }).map(String).sort()) {
  if (/\.tsx?$/.test(name) && !name.startsWith("generated")) visitFile(path.posix.join("src", name.split(path.sep).join("/")));
}
process.stdout.write(JSON.stringify(texts));
