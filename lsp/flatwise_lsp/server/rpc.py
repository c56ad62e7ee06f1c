"""What becomes of one message: handed on, or answered as JSON-RPC 2.0 and the Language Server Protocol 3.17 say.

pygls gives no answer to what it can't read or what comes after the end, and serves what comes before the greeting.
"""

from __future__ import annotations

import contextlib
import logging
import os
from pathlib import Path
from typing import Any, cast
from typing import Protocol as Shape

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException, JsonRpcMethodNotFound
from pygls.protocol import JsonRPCNotification, JsonRPCRequestMessage, LanguageServerProtocol
from pygls.protocol.language_server import lsp_method

from flatwise_lsp.server.wire import Broken
from flatwise_lsp.workspace.documents import path_of, uri_of

logger = logging.getLogger(__name__)


class Texts(Shape):
    """Whoever keeps the texts that the editor has open: the server."""

    def opened(self, params: lsp.DidOpenTextDocumentParams) -> None: ...

    def changed(self, params: lsp.DidChangeTextDocumentParams) -> None: ...

    def closed(self, params: lsp.DidCloseTextDocumentParams) -> None: ...


def _root(params: lsp.InitializeParams) -> str | None:
    """The folder that an editor works in, if what it names is one that can be: pygls stumbles at others."""
    uris = [params.root_uri or ""]
    if params.root_path:
        with contextlib.suppress(ValueError):
            uris.append(uri_of(Path(os.path.abspath(params.root_path))))
    return next((uri for uri in uris if path_of(uri) is not None), None)


class Protocol(LanguageServerProtocol):
    """The protocol without its own copy of the documents: ours counts lines as the protocol does."""

    server_capabilities: lsp.ServerCapabilities | None = None

    @lsp_method(lsp.TEXT_DOCUMENT_DID_OPEN)
    def lsp_text_document__did_open(self, params: lsp.DidOpenTextDocumentParams) -> None:
        self._texts.opened(params)

    @lsp_method(lsp.TEXT_DOCUMENT_DID_CHANGE)
    def lsp_text_document__did_change(self, params: lsp.DidChangeTextDocumentParams) -> None:
        self._texts.changed(params)

    @lsp_method(lsp.TEXT_DOCUMENT_DID_CLOSE)
    def lsp_text_document__did_close(self, params: lsp.DidCloseTextDocumentParams) -> None:
        self._texts.closed(params)

    @lsp_method(lsp.SHUTDOWN)
    def lsp_shutdown(self, *given: Any) -> None:  # type: ignore[override]
        """The end is near: what is still at work is dropped.  (pygls' own stumbles where a command is at work.)"""
        self._shutdown = True
        for future in list(self._request_futures.values()):
            if not future.done():
                future.cancel()

    def take(self, data: Any) -> None:
        """Hand on a message, or answer what is none; nothing that came may end the loop."""
        try:
            self._take(data)
        except Exception:
            logger.exception("a message could not be handled")

    def _take(self, data: Any) -> None:
        if isinstance(data, Broken):
            return self._refuse(None, lsp.ErrorCodes.ParseError, f"Parse error: {data}")
        if not isinstance(data, dict) or (data.get("jsonrpc") == self.VERSION and "method" not in data):
            if isinstance(data, dict) and "id" in data and ("result" in data or "error" in data):
                return self._answered(data)
            # also a batch: no language server takes one (no feature of LSP 3.17 sends any)
            return self._refuse(None, lsp.ErrorCodes.InvalidRequest, "Invalid request: no message of the protocol")
        mark, method, params = data.get("id"), data.get("method"), data.get("params")
        asks = "id" in data
        # LSP 3.17, "Request Message": id is an integer or a string
        known = isinstance(mark, str) or (isinstance(mark, int) and not isinstance(mark, bool))
        if data.get("jsonrpc") != self.VERSION or not isinstance(method, str) or asks != known:
            mark = mark if known and isinstance(method, str) else None
            return self._refuse(mark, lsp.ErrorCodes.InvalidRequest, "Invalid request: jsonrpc, id or method is wrong")
        if method == lsp.EXIT:
            # whatever comes with it, it is the end
            data, params = {"jsonrpc": self.VERSION, "method": method}, None
        fault = self._untimely(method)
        if fault is not None:
            return self._refuse(mark, *fault) if asks else None
        try:
            if method != lsp.CANCEL_REQUEST:
                self._get_handler(method)
        except JsonRpcMethodNotFound as error:
            return self._refuse(mark, lsp.ErrorCodes.MethodNotFound, str(error)) if asks else None
        kind = self.get_message_type(method) or (JsonRPCRequestMessage if asks else JsonRPCNotification)
        try:
            if params is not None and not isinstance(params, dict | list):
                raise TypeError("params must be an object or an array")
            message = self._converter.structure({"params": None, **data}, kind)
        except Exception as error:
            logger.warning("%s: bad parameters: %s", method, error)
            return self._refuse(mark, lsp.ErrorCodes.InvalidParams, "Invalid params") if asks else None
        if method == lsp.WORKSPACE_EXECUTE_COMMAND and message.params.arguments is None:
            # pygls would then not count them
            message.params.arguments = []
        if method == lsp.INITIALIZE:
            message.params.root_uri, message.params.root_path = _root(message.params), None
        if method == lsp.CANCEL_REQUEST and not isinstance(message.params.id, int | str):
            return None
        self.handle_message(message)
        return None

    def _untimely(self, method: str) -> tuple[lsp.ErrorCodes | lsp.LSPErrorCodes, str] | None:
        """Why a message is not for now: LSP 3.17, "Initialize Request" and "Shutdown Request"."""
        if method == lsp.EXIT:
            return None
        if self._shutdown:
            return lsp.ErrorCodes.InvalidRequest, "Invalid request: the server is shutting down"
        greeted = self.server_capabilities is not None
        if greeted and method == lsp.INITIALIZE:
            return lsp.ErrorCodes.InvalidRequest, "Invalid request: the server is initialized already"
        if not greeted and method != lsp.INITIALIZE:
            return lsp.ErrorCodes.ServerNotInitialized, "The server is not initialized"
        return None

    def _answered(self, data: dict[str, Any]) -> None:
        """The editor's answer to a question of ours; never answered in turn."""
        mark = data["id"]
        if not isinstance(mark, str) or mark not in self._result_types:
            logger.warning("an answer to nothing that was asked: %r", mark)
            return
        try:
            message = self.structure_message(data)
        except JsonRpcException as error:
            # whoever asked would wait for the rest of the session
            future = self._request_futures.pop(mark, None)
            if future is not None and not future.done():
                future.set_exception(error)
            return
        self.handle_message(message)

    def _refuse(self, mark: str | int | None, code: int, message: str) -> None:
        """Answer by an error; with id null where the request's own can't be told (JSON-RPC 2.0, section 5)."""
        logger.warning("refused: %s", message)
        self._send_data({"jsonrpc": self.VERSION, "id": mark, "error": {"code": int(code), "message": message}})

    @property
    def _texts(self) -> Texts:
        return cast("Texts", self._server)
