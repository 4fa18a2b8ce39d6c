"""Small mutations of a Python source: one number, sign, comparison or statement at a time.

Text is left as it is but for the mutated expression, so that a survivor can be shown as a diff.
Annotations, decorators, docstrings, the text of messages and ``strict=`` are not mutated.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator

from attrs import frozen

_FLIPPED: dict[type[ast.cmpop], ast.cmpop] = {
    ast.Lt: ast.GtE(), ast.GtE: ast.Lt(), ast.Gt: ast.LtE(), ast.LtE: ast.Gt(),
    ast.Eq: ast.NotEq(), ast.NotEq: ast.Eq(), ast.Is: ast.IsNot(), ast.IsNot: ast.Is(),
    ast.In: ast.NotIn(), ast.NotIn: ast.In(),
}  # fmt: skip
_BOUNDARY: dict[type[ast.cmpop], ast.cmpop] = {
    ast.Lt: ast.LtE(), ast.LtE: ast.Lt(), ast.Gt: ast.GtE(), ast.GtE: ast.Gt(),
}  # fmt: skip
_SWAPPED: dict[type[ast.operator], ast.operator] = {
    ast.Add: ast.Sub(), ast.Sub: ast.Add(), ast.Mult: ast.Div(), ast.Div: ast.Mult(),
    ast.FloorDiv: ast.Mult(), ast.Mod: ast.Mult(), ast.Pow: ast.Mult(),
    ast.BitAnd: ast.BitOr(), ast.BitOr: ast.BitAnd(),
}  # fmt: skip
_NAMES = {"min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor"}


@frozen
class Mutant:
    """One mutation.

    Attributes:
        operator: what is done. line, end_line: of the statement. at: of the mutated text.
        start, end: the bytes that are replaced. text: what stands there then.
        inside: it stands in a function, so that a test which runs it can be told.
    """

    operator: str
    line: int
    end_line: int
    at: tuple[int, int]
    start: int
    end: int
    text: str
    inside: bool

    def applied(self, source: bytes) -> bytes:
        """The mutated source."""
        return source[: self.start] + self.text.encode() + source[self.end :]


def mutants_of(source: bytes) -> list[Mutant]:
    """Every mutation of a source, in its order."""
    tree = ast.parse(source)
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    found = []
    for statement, inside in _statements(tree, False):
        for node, operator, text in _of_statement(statement):
            assert node.end_lineno is not None
            assert node.end_col_offset is not None
            assert statement.end_lineno is not None
            start = starts[node.lineno - 1] + node.col_offset
            end = starts[node.end_lineno - 1] + node.end_col_offset
            head = _end_of_head(statement)
            found.append(
                Mutant(
                    operator=operator, line=statement.lineno, end_line=head,
                    at=(node.lineno, node.end_lineno), start=start, end=end, text=text,
                    inside=inside,
                )
            )  # fmt: skip
    return found


def _end_of_head(statement: ast.stmt) -> int:
    """The last line of a statement without the block below it."""
    body = getattr(statement, "body", None)
    if isinstance(body, list) and body:
        first: ast.stmt = body[0]
        return max(statement.lineno, first.lineno - 1)
    return statement.end_lineno or statement.lineno


def _statements(node: ast.AST, inside: bool) -> Iterator[tuple[ast.stmt, bool]]:
    """Statements that can be mutated, each once, and whether they stand in a function."""
    for child in ast.iter_child_nodes(node):
        deeper = inside or isinstance(child, ast.FunctionDef)
        if isinstance(child, ast.stmt):
            if _only_types(child):
                continue
            if not isinstance(child, (ast.Import, ast.ImportFrom)):
                yield child, inside
            yield from _statements(child, deeper)
        elif isinstance(child, (ast.excepthandler, ast.match_case)):
            yield from _statements(child, inside)


def _only_types(node: ast.stmt) -> bool:
    if isinstance(node, ast.If):
        return isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
    if isinstance(node, ast.Assign):
        return isinstance(node.targets[0], ast.Name) and node.targets[0].id == "__all__"
    return False


def _of_statement(node: ast.stmt) -> Iterator[tuple[ast.expr | ast.stmt, str, str]]:
    """Mutations of a statement itself and of the expressions that stand directly in it."""
    yield from ((node, operator, text) for operator, text in _removals(node))
    yield from ((early, "return removed", "pass") for early in _early_returns(node))
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return  # a docstring
    if isinstance(node, (ast.Raise, ast.ClassDef)):
        return  # the words of a message; bases
    if isinstance(node, (ast.If, ast.While)) and not isinstance(
        node.test, (ast.Compare, ast.BoolOp, ast.Constant)
    ):
        yield node.test, "condition turned", f"(not {ast.unparse(node.test)})"
    for expression in _expressions(node):
        for inner in _walk(expression):
            yield from ((inner, operator, text) for operator, text in _of_expression(inner))


def _removals(node: ast.stmt) -> Iterator[tuple[str, str]]:
    call = isinstance(node, ast.Expr) and isinstance(node.value, ast.Call)
    if call or isinstance(node, (ast.Break, ast.Continue, ast.AugAssign)):
        yield "statement removed", "pass"
    if isinstance(node, ast.AugAssign) and type(node.op) in _SWAPPED:
        other = copy.copy(node)
        other.op = _SWAPPED[type(node.op)]
        yield "operator swapped", ast.unparse(other)


def _early_returns(node: ast.stmt) -> Iterator[ast.stmt]:
    """Returns at the end of an ``if``; without one the function goes on."""
    if isinstance(node, (ast.If, ast.For)) and isinstance(node.body[-1], ast.Return):
        yield node.body[-1]


def _expressions(node: ast.stmt) -> Iterator[ast.expr]:
    """Expressions of a statement that are no annotation and no decorator."""
    if isinstance(node, ast.FunctionDef):
        yield from (d for d in (*node.args.defaults, *node.args.kw_defaults) if d is not None)
        return
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "targets", "target"):
            continue
        for item in value if isinstance(value, list) else [value]:
            if isinstance(item, ast.expr):
                yield item
            elif isinstance(item, ast.withitem):
                yield item.context_expr


def _walk(node: ast.expr) -> Iterator[ast.expr]:
    """A node and those below it, but not the pieces of a formatted text."""
    if isinstance(node, ast.JoinedStr):
        return
    yield node
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.expr):
            if isinstance(node, ast.UnaryOp) and isinstance(child, ast.Constant):
                continue  # the sign and its number are mutated together
            yield from _walk(child)
        elif isinstance(child, ast.keyword):
            if child.arg != "strict":  # a guard against our own slips that never speaks
                yield from _walk(child.value)
        elif isinstance(child, ast.comprehension):
            yield from _walk(child.iter)
            for test in child.ifs:
                yield from _walk(test)


def _of_expression(node: ast.expr) -> Iterator[tuple[str, str]]:
    for of_kind in (_number, _comparison, _arithmetic, _call, _choice):
        yield from of_kind(node)


def _number(node: ast.expr) -> Iterator[tuple[str, str]]:
    sign = 1
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        node, sign = node.operand, -1
    if not isinstance(node, ast.Constant) or isinstance(node.value, bool):
        return
    if isinstance(node.value, (int, float)):
        value = sign * node.value
        half = type(value)(value * 1.5)
        if half != value:
            yield "number times 1.5", f"({half!r})"
        yield "number plus 1", f"({value + 1!r})"
        if value:
            yield "sign turned", f"({-value!r})"


def _comparison(node: ast.expr) -> Iterator[tuple[str, str]]:
    if not isinstance(node, ast.Compare):
        return
    for name, table in (("comparison flipped", _FLIPPED), ("boundary moved", _BOUNDARY)):
        for i, op in enumerate(node.ops):
            if type(op) in table:
                ops = [table[type(op)] if j == i else o for j, o in enumerate(node.ops)]
                yield name, f"({ast.unparse(ast.Compare(node.left, ops, node.comparators))})"


def _text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str)
    )


def _arithmetic(node: ast.expr) -> Iterator[tuple[str, str]]:
    if isinstance(node, ast.BinOp) and type(node.op) in _SWAPPED:
        if not (_text(node.left) or _text(node.right)):
            op = _SWAPPED[type(node.op)]
            yield "operator swapped", f"({ast.unparse(ast.BinOp(node.left, op, node.right))})"
    elif isinstance(node, ast.UnaryOp) and not isinstance(node.operand, ast.Constant):
        yield "not or minus removed", f"({ast.unparse(node.operand)})"


def _call(node: ast.expr) -> Iterator[tuple[str, str]]:
    if not isinstance(node, ast.Call):
        return
    name = node.func.attr if isinstance(node.func, ast.Attribute) else None
    name = node.func.id if isinstance(node.func, ast.Name) else name
    if name in _NAMES:
        other = copy.deepcopy(node)
        if isinstance(other.func, ast.Attribute):
            other.func.attr = _NAMES[name]
        elif isinstance(other.func, ast.Name):
            other.func.id = _NAMES[name]
        yield f"{name} to {_NAMES[name]}", ast.unparse(other)


def _choice(node: ast.expr) -> Iterator[tuple[str, str]]:
    if isinstance(node, ast.BoolOp):
        op: ast.boolop = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        yield "and and or swapped", f"({ast.unparse(ast.BoolOp(op, node.values))})"
    elif isinstance(node, ast.IfExp):
        turned = ast.IfExp(node.test, node.orelse, node.body)
        yield "condition turned", f"({ast.unparse(turned)})"
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield "true and false swapped", repr(not node.value)
