;;; flatwise-mode.el --- Job files of Flatwise  -*- lexical-binding: t -*-

;;; Commentary:
;; Colours by shape, and the language server through eglot (part of Emacs 29).

;;; Code:

(defvar flatwise-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?# "<" table)
    (modify-syntax-entry ?\n ">" table)
    (modify-syntax-entry ?\" "\"" table)
    (modify-syntax-entry ?_ "w" table)
    (modify-syntax-entry ?{ "(}" table)
    (modify-syntax-entry ?} "){" table)
    table))

(defconst flatwise-font-lock-keywords
  '(("^\\s-*\\(use\\)\\s-+\"" 1 font-lock-keyword-face)
    ("\\(?:^\\|[{;}]\\)\\s-*\\([a-z][a-z0-9_]*\\)\\(?:[ \t]+\\([a-z][a-z0-9_]*\\)\\)?[^#\";{}\n]*{"
     (1 font-lock-keyword-face) (2 font-lock-type-face nil t))
    ("\\(?:^\\|[{;}]\\)\\s-*\\([a-z][a-z0-9_]*\\)" 1 font-lock-variable-name-face)
    ("\\_<-?[0-9]+\\(?:[./][0-9]+\\)?\\(?:%\\|[A-Za-z]+[0-9]?\\(?:/[A-Za-z]+[0-9]?\\)?\\)?" . font-lock-constant-face)))

(defun flatwise-indent-line ()
  "Indent by four for each open brace."
  (interactive)
  (let ((depth (car (syntax-ppss (line-beginning-position)))))
    (save-excursion
      (back-to-indentation)
      (when (looking-at "}") (setq depth (1- depth)))
      (indent-line-to (* 4 (max 0 depth))))
    (when (< (current-column) (current-indentation)) (back-to-indentation))))

;;;###autoload
(define-derived-mode flatwise-mode prog-mode "Flatwise"
  "Major mode for job files of Flatwise."
  (setq-local comment-start "# ")
  (setq-local font-lock-defaults '(flatwise-font-lock-keywords))
  (setq-local indent-line-function #'flatwise-indent-line)
  (setq-local indent-tabs-mode nil))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.flat\\'" . flatwise-mode))

(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs '(flatwise-mode . ("flatwise" "serve"))))

(provide 'flatwise-mode)
;;; flatwise-mode.el ends here
