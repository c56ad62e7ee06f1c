"""The rules of JSON-RPC 2.0 and of the Language Server Protocol 3.17 that pygls does not enforce.

Left alone, pygls sends no answer to a message that it can't read, and serves requests that come before `initialize`.
"""

from __future__ import annotations

import logging
import typing
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException, JsonRpcMethodNotFound
from pygls.protocol import LanguageServerProtocol, default_converter
from pygls.protocol.language_server import lsp_method

if TYPE_CHECKING:
    from cattrs import Converter

logger = logging.getLogger(__name__)


class MessageRefusal(NamedTuple):
    """Why a message is not handled."""

    code: int
    message: str


class Documents(typing.Protocol):
    """What the server does with the texts that an editor holds."""

    def opened(self, params: lsp.DidOpenTextDocumentParams) -> None: ...

    def changed(self, params: lsp.DidChangeTextDocumentParams) -> None: ...

    def closed(self, params: lsp.DidCloseTextDocumentParams) -> None: ...


class Protocol(LanguageServerProtocol):
    """The protocol with its messages checked, and without pygls' own copy of the documents.

    pygls' copy splits lines where the protocol does not.
    """

    server_capabilities: lsp.ServerCapabilities | None = None

    @property
    def _documents(self) -> Documents:
        return cast(Documents, self._server)

    @lsp_method(lsp.TEXT_DOCUMENT_DID_OPEN)
    def lsp_text_document__did_open(self, params: lsp.DidOpenTextDocumentParams) -> None:
        self._documents.opened(params)

    @lsp_method(lsp.TEXT_DOCUMENT_DID_CHANGE)
    def lsp_text_document__did_change(self, params: lsp.DidChangeTextDocumentParams) -> None:
        self._documents.changed(params)

    @lsp_method(lsp.TEXT_DOCUMENT_DID_CLOSE)
    def lsp_text_document__did_close(self, params: lsp.DidCloseTextDocumentParams) -> None:
        self._documents.closed(params)

    @lsp_method(lsp.SHUTDOWN)
    def lsp_shutdown(self, *given: Any) -> None:  # type: ignore[override]
        """Cancel everything in progress.  (pygls' own method raises an error while a command is running.)"""
        self._shutdown = True
        for future in list(self._request_futures.values()):
            future.cancel()

    def structure_message(self, data: Any) -> Any:
        """Leave the JSON as it is: `handle_message` checks it before pygls turns it into an object."""
        return data

    def handle_message(self, message: Any) -> None:
        """Handle one message, or refuse it.  No message ends the session, except `exit`."""
        try:
            refusal = _malformed(message) or self._untimely(message)
            if refusal is None:
                super().handle_message(self._structured(message))
                return
        except JsonRpcException as error:
            refusal = MessageRefusal(error.code, error.message)
        except Exception:
            logger.exception("a message could not be handled")
            return
        self.refuse(message, refusal)

    def _structured(self, message: dict[str, Any]) -> Any:
        """A message as pygls' object.  A method that does not exist is refused as that, whatever its params."""
        method = message.get("method")
        if method is not None:
            message.setdefault("params", None)
            if method != lsp.CANCEL_REQUEST:
                self._get_handler(method)
            # pygls would take a notification that has an id as one, and not answer it
            kind = self.get_message_type(method)
            if "id" in message and kind is not None and not hasattr(kind, "id"):
                raise JsonRpcMethodNotFound.of(method)
        structured = super().structure_message(message)
        # pygls counts the arguments of a command only where there is a list of them
        if isinstance(structured, lsp.ExecuteCommandRequest) and structured.params.arguments is None:
            structured.params.arguments = []
        return structured

    def _untimely(self, message: dict[str, Any]) -> MessageRefusal | None:
        """Why a message comes at the wrong time: LSP 3.17, "Initialize Request" and "Shutdown Request"."""
        method = message.get("method")
        if method is None or (method == lsp.EXIT and "id" not in message):
            return None
        if self._shutdown:
            return MessageRefusal(lsp.ErrorCodes.InvalidRequest, "Invalid request: the server is shutting down")
        initialized = self.server_capabilities is not None
        if initialized and method == lsp.INITIALIZE:
            return MessageRefusal(lsp.ErrorCodes.InvalidRequest, "Invalid request: the server is already initialized")
        if not initialized and method != lsp.INITIALIZE:
            return MessageRefusal(lsp.ErrorCodes.ServerNotInitialized, "The server is not initialized")
        return None

    def refuse(self, message: Any, refusal: MessageRefusal) -> None:
        """Answer a request with an error; its id is null where it can't be read (JSON-RPC 2.0, section 5).

        A notification is never answered.  Whoever waits for a bad answer gets the error.
        """
        logger.warning("refused: %s", refusal.message)
        parts = message if isinstance(message, dict) else {}
        request_id = parts.get("id") if _is_id(parts.get("id")) else None
        if "method" not in parts and ("result" in parts or "error" in parts):
            future = self._request_futures.pop(request_id, None) if request_id is not None else None
            if future is not None and not future.done():
                future.set_exception(JsonRpcException(refusal.message, refusal.code))
        elif "id" in parts or _malformed(message) is not None:
            error = {"code": int(refusal.code), "message": refusal.message}
            self._send_data({"jsonrpc": self.VERSION, "id": request_id, "error": error})


def _malformed(message: Any) -> MessageRefusal | None:
    """Why some JSON is not a message: LSP 3.17, "Base Protocol", which has no batches."""
    invalid = MessageRefusal(lsp.ErrorCodes.InvalidRequest, "Invalid request: not a message of the protocol")
    if not isinstance(message, dict) or message.get("jsonrpc") != Protocol.VERSION:
        return invalid
    has_id = _is_id(message.get("id"))
    if "method" in message:
        return None if isinstance(message["method"], str) and has_id == ("id" in message) else invalid
    return None if has_id and ("result" in message or "error" in message) else invalid


def _is_id(value: Any) -> bool:
    """Whether some JSON is of the type of an id or a token, integer | string; a bool is neither."""
    return isinstance(value, int | str) and not isinstance(value, bool)


def make_converter() -> Converter:
    """pygls' converter, but the id or token of a cancellation is checked; else whatever is there is handed on."""

    def structure_id(value: Any, kind: Any) -> int | str:
        if not _is_id(value):
            raise ValueError(f"{value!r} is neither an integer nor a string")
        return cast("int | str", value)

    converter: Converter = default_converter()  # type: ignore[no-untyped-call]
    converter.register_structure_hook(int | str, structure_id)
    return converter
