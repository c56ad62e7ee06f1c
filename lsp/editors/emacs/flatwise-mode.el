;;; flatwise-mode.el --- Job files of Flatwise  -*- lexical-binding: t -*-

;;; Commentary:
;; Colours by form, and the language server through eglot, which is part of Emacs 29
;; and can be installed for Emacs 26 to 28.

;;; Code:

(require 'prog-mode)
(require 'eieio)
(declare-function eglot--uri-to-path "eglot")
(declare-function flatwise-server--eieio-childp "flatwise-mode")  ; made by defclass

(defvar eglot-server-programs)
(defvar eldoc-documentation-strategy)

(defvar flatwise-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?# "<" table)
    (modify-syntax-entry ?\n ">" table)
    (modify-syntax-entry ?\" "\"" table)
    (modify-syntax-entry ?_ "w" table)
    (modify-syntax-entry ?{ "(}" table)
    (modify-syntax-entry ?} "){" table)
    table)
  "Syntax table of `flatwise-mode'.")

(defconst flatwise-font-lock-keywords
  '(("^\\s-*\\(use\\)\\s-+\"" 1 font-lock-keyword-face)
    ("\\(?:^\\|[{;}]\\)\\s-*\\([a-z][a-z0-9_]*\\)\\(?:[ \t]+\\([a-z][a-z0-9_]*\\)\\)?[^#\";{}\n]*{"
     (1 font-lock-keyword-face) (2 font-lock-type-face nil t))
    ("\\(?:^\\|[{;}]\\)\\s-*\\([a-z][a-z0-9_]*\\)" 1 font-lock-variable-name-face)
    ("\\_<[A-Z]+[0-9]+\\(?:\\.[0-9]\\)?" . font-lock-builtin-face)
    ("\\_<-?[0-9]+\\(?:[./][0-9]+\\)?\\(?:%\\|[A-Za-z]+[0-9]?\\(?:/[A-Za-z]+[0-9]?\\)?\\)?" . font-lock-constant-face))
  "Colours of a job file, by form only.")

(defun flatwise-indentation ()
  "Column of the line at point: four for each open brace.
A line continued after a comma is aligned with the first value."
  (save-excursion
    (back-to-indentation)
    (let ((depth (- (car (syntax-ppss)) (if (looking-at "}") 1 0))))
      (forward-line 0)
      (forward-comment (- (point)))
      (if (not (eq (char-before) ?,))
          (* 4 (max 0 depth))
        (let ((column (current-indentation)))
          (back-to-indentation)
          (let ((field (point)))
            (forward-line 0)
            (forward-comment (- (point)))
            (if (eq (char-before) ?,)
                column
              (goto-char field)
              (skip-chars-forward "a-z0-9_")
              (skip-chars-forward " \t")
              (current-column))))))))

(defun flatwise-indent-line ()
  "Indent the line at point as the formatter would."
  (interactive)
  (let ((column (flatwise-indentation)))
    (save-excursion (indent-line-to column))
    (when (< (current-column) (current-indentation)) (back-to-indentation))))

(defun flatwise-project (folder)
  "The project of a job file in FOLDER: the nearest folder with a flatwise.toml.
Nil where there is none; Emacs then uses version control."
  (let ((root (locate-dominating-file folder "flatwise.toml")))
    (and root (cons 'transient root))))

(defun flatwise-show-all ()
  "Show both the phrase and the meaning of its words: by default eglot shows one."
  (setq-local eldoc-documentation-strategy #'eldoc-documentation-compose))

;;;###autoload
(define-derived-mode flatwise-mode prog-mode "Flatwise"
  "Major mode for job files of Flatwise."
  (setq-local comment-start "# ")
  (setq-local comment-start-skip "#+[ \t]*")
  (setq-local font-lock-defaults '(flatwise-font-lock-keywords))
  (setq-local indent-line-function #'flatwise-indent-line)
  (setq-local indent-tabs-mode nil)
  (add-hook 'project-find-functions #'flatwise-project nil t)
  (add-hook 'eglot-managed-mode-hook #'flatwise-show-all nil t)
  (setq-local electric-indent-chars (append "}" electric-indent-chars)))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.flat\\'" . flatwise-mode))

(with-eval-after-load 'eglot
  ;; a class of its own, since eglot before Emacs 30 shows no documents: pages open in the browser, text in Emacs
  (defclass flatwise-server (eglot-lsp-server) ())
  (cl-defmethod eglot-client-capabilities :around ((_server flatwise-server))
    (let ((all (cl-call-next-method)))
      (plist-put all :window (plist-put (plist-get all :window) :showDocument '(:support t)))))
  (cl-defmethod eglot-handle-request
    ((_server flatwise-server) (_method (eql window/showDocument)) &key uri external &allow-other-keys)
    (if (eq external t) (browse-url uri) (find-file (eglot--uri-to-path uri)))
    '(:success t))
  (add-to-list 'eglot-server-programs '(flatwise-mode . (flatwise-server "flatwise" "serve"))))

(provide 'flatwise-mode)
;;; flatwise-mode.el ends here
