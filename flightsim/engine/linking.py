"""Functions that only compiled ones call: linked into their entry first, optimised once with all of it.

numba by itself optimises every function together with all that it calls, and makes machine code of that: what is called
from ten levels above is gone through ten times, and all but the last thrown away. Here a function stays as it was
translated until an entry asks for it. That is more than half of the time of compiling, and the same answers.
"""

from __future__ import annotations

from typing import Any

from numba.core import codegen, compiler, compiler_machinery, typed_passes

_codegen: Any = codegen
_compiler: Any = compiler
_machinery: Any = compiler_machinery
_passes: Any = typed_passes


class _NeverRun:
    """What numba makes known to machine code about the function that it belongs to; here there is no such code."""

    def set_env(self, name: str, environment: object) -> None:
        """Nothing to make known."""


class CalledLibrary(_codegen.JITCodeLibrary):  # type: ignore[misc]
    """The code of one function that Python cannot call."""

    def finalize(self) -> None:
        """Nothing more is added to it. What it calls is linked where it is linked itself."""
        self._raise_if_finalized()
        self._finalized = True

    def get_pointer_to_function(self, _: str) -> int:
        """None: there is no machine code."""
        self._ensure_finalized()
        return 0

    @property
    def codegen(self) -> _NeverRun:
        """Where its environment is made known."""
        return _NeverRun()

    def _get_module_for_linking(self) -> Any:
        """Its code and that of all that it calls, each once."""
        whole = self._own_module().clone()
        for library in self._called({}):
            if isinstance(library, CalledLibrary):
                whole.link_in(library._own_module(), preserve=True)
            else:
                whole.link_in(library._get_module_for_linking(), preserve=True)
        return whole

    def _own_module(self) -> Any:
        return super()._get_module_for_linking()

    def _called(self, found: dict[Any, None]) -> dict[Any, None]:
        """What it calls, and what that calls, in an order that is always the same; added to what was found before."""
        for library in self._linking_libraries:
            if library not in found:
                found[library] = None
                if isinstance(library, CalledLibrary):
                    library._called(found)
        return found


@_machinery.register_pass(mutates_CFG=False, analysis_only=True)
class _ChooseLibrary(_machinery.AnalysisPass):  # type: ignore[misc]
    """Where the code of the function goes that is being compiled."""

    _name = "choose_library"

    def __init__(self) -> None:
        _machinery.AnalysisPass.__init__(self)

    def run_pass(self, state: Any) -> bool:
        """Choose it; the program itself is left as it is."""
        state.library = CalledLibrary(state.targetctx.codegen(), state.func_id.func_qualname)
        return False


class CalledCompiler(_compiler.CompilerBase):  # type: ignore[misc]
    """numba's own steps, but for where the code goes."""

    def define_pipelines(self) -> list[Any]:
        """The steps."""
        steps = _compiler.DefaultPassBuilder.define_nopython_pipeline(self.state)
        steps.add_pass_after(_ChooseLibrary, _passes.AnnotateTypes)
        steps.finalize()
        return [steps]
