"""Made by `python -m flatwise.report.make_template` from `sheet.html.jinja`.  Do not edit."""

# ruff: noqa
# fmt: off
# mypy: ignore-errors

JINJA = '3.1.6'
SHA256 = '45962c7664a596395c898e3846c4a01e2030ec6ced64267e574f45f0706a7553'

from jinja2.runtime import LoopContext, Macro, Markup, Namespace, TemplateNotFound, TemplateReference, TemplateRuntimeError, Undefined, escape, identity, internalcode, markup_join, missing, str_join
name = 'sheet.html.jinja'

def root(context, missing=missing):
    resolve = context.resolve_or_missing
    undefined = environment.undefined
    concat = environment.concat
    cond_expr_undefined = Undefined
    if 0: yield None
    l_0_preview = resolve('preview')
    l_0_script_hash = resolve('script_hash')
    l_0_title = resolve('title')
    l_0_style = resolve('style')
    l_0_batch = resolve('batch')
    l_0_job = resolve('job')
    l_0_hash = resolve('hash')
    l_0_work = resolve('work')
    l_0_version = resolve('version')
    l_0_programs = resolve('programs')
    l_0_plan = resolve('plan')
    l_0_spaced = resolve('spaced')
    l_0_unit = resolve('unit')
    l_0_setups = resolve('setups')
    l_0_wood = resolve('wood')
    l_0_seatings = resolve('seatings')
    l_0_as_planned = resolve('as_planned')
    l_0_proofs = resolve('proofs')
    l_0_script = resolve('script')
    l_0_step = l_0_ticked = l_0_fold = l_0_bar = l_0_limits = l_0_picture = l_0_holders = l_0_hold = l_0_leaves = l_0_stepper = l_0_lay = l_0_turn = l_0_zero = l_0_figures = l_0_folds = l_0_remarks = l_0_before = l_0_run = l_0_ticks = missing
    try:
        t_1 = environment.filters['capitalize']
    except KeyError:
        @internalcode
        def t_1(*unused):
            raise TemplateRuntimeError("No filter named 'capitalize' found.")
    try:
        t_2 = environment.filters['fixed']
    except KeyError:
        @internalcode
        def t_2(*unused):
            raise TemplateRuntimeError("No filter named 'fixed' found.")
    try:
        t_3 = environment.filters['join']
    except KeyError:
        @internalcode
        def t_3(*unused):
            raise TemplateRuntimeError("No filter named 'join' found.")
    try:
        t_4 = environment.filters['length']
    except KeyError:
        @internalcode
        def t_4(*unused):
            raise TemplateRuntimeError("No filter named 'length' found.")
    try:
        t_5 = environment.filters['list']
    except KeyError:
        @internalcode
        def t_5(*unused):
            raise TemplateRuntimeError("No filter named 'list' found.")
    try:
        t_6 = environment.filters['lower']
    except KeyError:
        @internalcode
        def t_6(*unused):
            raise TemplateRuntimeError("No filter named 'lower' found.")
    try:
        t_7 = environment.filters['min']
    except KeyError:
        @internalcode
        def t_7(*unused):
            raise TemplateRuntimeError("No filter named 'min' found.")
    try:
        t_8 = environment.filters['rejectattr']
    except KeyError:
        @internalcode
        def t_8(*unused):
            raise TemplateRuntimeError("No filter named 'rejectattr' found.")
    try:
        t_9 = environment.filters['sum']
    except KeyError:
        @internalcode
        def t_9(*unused):
            raise TemplateRuntimeError("No filter named 'sum' found.")
    try:
        t_10 = environment.filters['upper']
    except KeyError:
        @internalcode
        def t_10(*unused):
            raise TemplateRuntimeError("No filter named 'upper' found.")
    try:
        t_11 = environment.tests['none']
    except KeyError:
        @internalcode
        def t_11(*unused):
            raise TemplateRuntimeError("No test named 'none' found.")
    pass
    def macro(l_1_id, l_1_caller):
        t_12 = []
        if l_1_id is missing:
            l_1_id = undefined("parameter 'id' was not provided", name='id')
        pass
        t_12.extend((
            '<li><label><input type="checkbox" id="',
            escape(l_1_id),
            '"',
            escape((' disabled' if (undefined(name='preview') if l_0_preview is missing else l_0_preview) else cond_expr_undefined("the inline if-expression on line 1 in 'sheet.html.jinja' evaluated to false and no else section was defined."))),
            '><span>',
            escape(context.call(l_1_caller)),
            '</span></label></li>\n',
        ))
        return concat(t_12)
    context.exported_vars.add('step')
    context.vars['step'] = l_0_step = Macro(environment, macro, 'step', ('id',), False, False, True, context.eval_ctx.autoescape)
    def macro(l_1_name, l_1_id, l_1_head, l_1_what):
        t_13 = []
        if l_1_name is missing:
            l_1_name = undefined("parameter 'name' was not provided", name='name')
        if l_1_id is missing:
            l_1_id = undefined("parameter 'id' was not provided", name='id')
        if l_1_head is missing:
            l_1_head = undefined("parameter 'head' was not provided", name='head')
        if l_1_what is missing:
            l_1_what = ''
        pass
        t_13.extend((
            '<td data-of="',
            escape(l_1_head),
            '"><label class="tick"><input type="checkbox" id="panel-',
            escape(l_1_name),
            '-',
            escape(l_1_id),
            '"',
            escape((' disabled' if (undefined(name='preview') if l_0_preview is missing else l_0_preview) else cond_expr_undefined("the inline if-expression on line 3 in 'sheet.html.jinja' evaluated to false and no else section was defined."))),
            ' aria-label="',
            escape(l_1_name),
            ': ',
            escape((l_1_what or t_6(l_1_head))),
            '"></label></td>',
        ))
        return concat(t_13)
    context.exported_vars.add('ticked')
    context.vars['ticked'] = l_0_ticked = Macro(environment, macro, 'ticked', ('name', 'id', 'head', 'what'), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_title, l_1_caller):
        t_14 = []
        if l_1_title is missing:
            l_1_title = undefined("parameter 'title' was not provided", name='title')
        pass
        t_14.extend((
            '<details><summary>',
            escape(l_1_title),
            '</summary>\n',
            escape(context.call(l_1_caller)),
            '</details>\n',
        ))
        return concat(t_14)
    context.exported_vars.add('fold')
    context.vars['fold'] = l_0_fold = Macro(environment, macro, 'fold', ('title',), False, False, True, context.eval_ctx.autoescape)
    def macro(l_1_each):
        t_15 = []
        if l_1_each is missing:
            l_1_each = undefined("parameter 'each' was not provided", name='each')
        pass
        t_15.append(
            '<svg class="bar" viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">',
        )
        if environment.getattr(l_1_each, 'low'):
            pass
            t_15.extend((
                '<rect class="room" x="0" y="0" width="100" height="10"/><rect class="used" x="',
                escape(t_2((100 * environment.getattr(l_1_each, 'low')), 2)),
                '" y="0" width="',
                escape(t_2((100 * (1 - environment.getattr(l_1_each, 'low'))), 2)),
                '" height="10" opacity=".35"/><path class="at" d="M',
                escape(t_2(t_7(environment, [(100 * environment.getattr(l_1_each, 'share')), 104]), 2)),
                ' -2V12"/>',
            ))
        else:
            pass
            t_15.extend((
                '<rect class="room" x="0" y="0" width="100" height="10"/><rect class="',
                escape(('over' if (environment.getattr(l_1_each, 'share') > 1.000001) else 'used')),
                '" x="0" y="0" width="',
                escape(t_2(t_7(environment, [(100 * environment.getattr(l_1_each, 'share')), 104]), 2)),
                '" height="10"/>',
            ))
        t_15.append(
            '</svg>',
        )
        return concat(t_15)
    context.exported_vars.add('bar')
    context.vars['bar'] = l_0_bar = Macro(environment, macro, 'bar', ('each',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_rows):
        t_16 = []
        if l_1_rows is missing:
            l_1_rows = undefined("parameter 'rows' was not provided", name='rows')
        pass
        t_16.append(
            '<div class="table" tabindex="0" role="group" aria-label="Limits"><table class="limits"><thead><tr><th>Figure</th><th class="n">Used</th><th>Share</th><th class="n">Limit</th></tr></thead><tbody>\n',
        )
        for l_2_each in l_1_rows:
            _loop_vars = {}
            pass
            t_16.extend((
                '<tr><td>',
                escape(environment.getattr(l_2_each, 'name')),
            ))
            if environment.getattr(l_2_each, 'note'):
                pass
                t_16.extend((
                    '<br><span class="soft">',
                    escape(environment.getattr(l_2_each, 'note')),
                    '</span>',
                ))
            t_16.extend((
                '</td><td class="n">',
                escape(environment.getattr(l_2_each, 'used')),
                '</td><td class="bars">',
                escape(context.call((undefined(name='bar') if l_0_bar is missing else l_0_bar), l_2_each, _loop_vars=_loop_vars)),
                '</td><td class="n">',
                escape(environment.getattr(l_2_each, 'limit')),
                '</td></tr>\n',
            ))
        l_2_each = missing
        t_16.append(
            '</tbody></table></div>',
        )
        return concat(t_16)
    context.exported_vars.add('limits')
    context.vars['limits'] = l_0_limits = Macro(environment, macro, 'limits', ('rows',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_svg, l_1_title, l_1_words, l_1_next):
        t_17 = []
        if l_1_svg is missing:
            l_1_svg = undefined("parameter 'svg' was not provided", name='svg')
        if l_1_title is missing:
            l_1_title = undefined("parameter 'title' was not provided", name='title')
        if l_1_words is missing:
            l_1_words = ''
        if l_1_next is missing:
            l_1_next = ''
        pass
        t_17.extend((
            '<figure aria-label="',
            escape(l_1_title),
            '">',
            escape(l_1_svg),
            '\n<div class="value live-only"><button type="button" class="next">',
            escape((l_1_next or 'Next value')),
            '</button><output aria-label="Value">Point at the picture, tap it, or press the button.</output></div>\n<figcaption>',
            escape(l_1_words),
            '</figcaption></figure>',
        ))
        return concat(t_17)
    context.exported_vars.add('picture')
    context.vars['picture'] = l_0_picture = Macro(environment, macro, 'picture', ('svg', 'title', 'words', 'next'), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_face):
        t_18 = []
        if l_1_face is missing:
            l_1_face = undefined("parameter 'face' was not provided", name='face')
        pass
        t_18.append(
            '<div class="table" tabindex="0" role="group" aria-label="Holders"><table><thead><tr><th>Mark</th><th>Middle</th><th>Holder</th></tr></thead><tbody>\n',
        )
        for l_2_each in environment.getattr(l_1_face, 'holders'):
            _loop_vars = {}
            pass
            t_18.extend((
                '<tr><td class="key">',
                escape(environment.getattr(l_2_each, 'letter')),
                '</td><td>',
                escape(environment.getattr(l_2_each, 'edge')),
                ' edge, <strong>',
                escape(environment.getattr(l_2_each, 'at')),
                '</strong> from the ',
                escape(environment.getattr(l_2_each, 'corner')),
                ' corner</td><td>',
                escape(environment.getattr(l_2_each, 'what')),
                ', ',
                escape(environment.getattr(l_2_each, 'height')),
                ' high</td></tr>\n',
            ))
        l_2_each = missing
        t_18.append(
            '</tbody></table></div>\n',
        )
        return concat(t_18)
    context.exported_vars.add('holders')
    context.vars['holders'] = l_0_holders = Macro(environment, macro, 'holders', ('face',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_face):
        t_19 = []
        if l_1_face is missing:
            l_1_face = undefined("parameter 'face' was not provided", name='face')
        pass
        def macro():
            t_20 = []
            pass
            if environment.getattr(l_1_face, 'clamps'):
                pass
                t_20.extend((
                    'Clamps on (',
                    escape(environment.getattr(l_1_face, 'clamps')),
                    '), pushing sideways only: a panel that is forced flat springs back. ',
                ))
            t_20.append(
                '<strong>Test every clamp by hand</strong>: the panel must not move or lift. The holding forces are estimates.',
            )
            return concat(t_20)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        t_19.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-hold', )), caller=caller))
        return concat(t_19)
    context.exported_vars.add('hold')
    context.vars['hold'] = l_0_hold = Macro(environment, macro, 'hold', ('face',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_face):
        t_21 = []
        if l_1_face is missing:
            l_1_face = undefined("parameter 'face' was not provided", name='face')
        pass
        t_21.append(
            '<div class="table" tabindex="0" role="group" aria-label="Leaves"><table><thead><tr><th>No.</th><th>Under</th><th>Leaves</th><th class="n">Height</th><th class="n">Gap left</th></tr></thead><tbody>\n',
        )
        for l_2_each in environment.getattr(l_1_face, 'leaves'):
            _loop_vars = {}
            pass
            t_21.extend((
                '<tr><td class="key">',
                escape(environment.getattr(l_2_each, 'number')),
                '</td><td>',
                escape(environment.getattr(l_2_each, 'place')),
                '</td><td>',
                escape(environment.getattr(l_2_each, 'stack')),
            ))
            if environment.getattr(l_2_each, 'tape'):
                pass
                t_21.append(
                    ', <strong>tape</strong>',
                )
            t_21.extend((
                '</td><td class="n">',
                escape(environment.getattr(l_2_each, 'height')),
                '</td><td class="n">',
                escape(environment.getattr(l_2_each, 'gap')),
                '</td></tr>\n',
            ))
        l_2_each = missing
        t_21.append(
            '</tbody></table></div>',
        )
        return concat(t_21)
    context.exported_vars.add('leaves')
    context.vars['leaves'] = l_0_leaves = Macro(environment, macro, 'leaves', ('face',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_face):
        t_22 = []
        if l_1_face is missing:
            l_1_face = undefined("parameter 'face' was not provided", name='face')
        pass
        if environment.getattr(environment.getattr(l_1_face, 'setup'), 'passes'):
            pass
            t_22.extend((
                '<div class="control live-only"><button type="button" aria-label="Previous pass">◀</button><input type="range" min="0" max="',
                escape(t_4(environment.getattr(environment.getattr(l_1_face, 'setup'), 'passes'))),
                '" value="0" aria-label="Pass that the pictures show; 0 shows the set-up"><button type="button" aria-label="Next pass">▶</button></div>\n<output class="say live-only" aria-label="Pass shown"></output>\n',
            ))
        return concat(t_22)
    context.exported_vars.add('stepper')
    context.vars['stepper'] = l_0_stepper = Macro(environment, macro, 'stepper', ('face',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_face):
        t_23 = []
        if l_1_face is missing:
            l_1_face = undefined("parameter 'face' was not provided", name='face')
        pass
        t_23.extend((
            '<h2>Lay the panel</h2>\n<div class="two">\n<div><figure aria-label="Plan of what to lay">',
            escape(environment.getattr(l_1_face, 'laid')),
            '<figcaption>',
            escape(environment.getattr(l_1_face, 'laid_words')),
            '</figcaption></figure>\n',
        ))
        if environment.getattr(l_1_face, 'holders'):
            pass
            t_23.append(
                escape(context.call((undefined(name='holders') if l_0_holders is missing else l_0_holders), l_1_face)),
            )
        t_23.append(
            '</div><div>\n',
        )
        if environment.getattr(l_1_face, 'leaves'):
            pass
            t_23.extend((
                escape(context.call((undefined(name='leaves') if l_0_leaves is missing else l_0_leaves), l_1_face)),
                '\n',
            ))
            if environment.getattr(l_1_face, 'tape'):
                pass
                t_23.append(
                    '<p><strong>Tape</strong>: this leaf would slip. Tape it to the bed by the end that sticks out, never under the panel.</p>\n',
                )
        t_23.append(
            '<ol class="steps">\n',
        )
        def macro():
            t_24 = []
            pass
            t_24.extend((
                'Write its name on each edge of the panel in pencil: front, back, left, right. Its ',
                escape(environment.getattr(l_1_face, 'corner')),
                ' corner goes to machine <span class="whole">X ',
                escape(environment.getitem(environment.getattr(l_1_face, 'lies'), 0)),
                ', Y ',
                escape(environment.getitem(environment.getattr(l_1_face, 'lies'), 1)),
                '</span>: with the spindle stopped, move its centre there and mark the bed.',
            ))
            return concat(t_24)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        t_23.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-place', )), caller=caller))
        def macro():
            t_25 = []
            pass
            t_25.append(
                'Brush the bed and the panel clean.',
            )
            if environment.getattr(l_1_face, 'dogs'):
                pass
                t_25.extend((
                    ' Put the dogs in their places: ',
                    escape(environment.getattr(l_1_face, 'dogs')),
                    '.',
                ))
            if environment.getattr(l_1_face, 'leaves'):
                pass
                t_25.append(
                    " Lay the leaves flat on the bed, flush with the panel's outline.",
                )
            return concat(t_25)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        t_23.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-bed', )), caller=caller))
        def macro():
            t_26 = []
            pass
            t_26.append(
                'Lay the panel down',
            )
            if environment.getattr(l_1_face, 'dogs'):
                pass
                t_26.extend((
                    ' against all dogs (',
                    escape(environment.getattr(l_1_face, 'dogs')),
                    ')',
                ))
            t_26.append(
                ', face up, its front edge toward you. Press on each corner: it must not rock.',
            )
            return concat(t_26)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        t_23.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-lay', )), caller=caller))
        t_23.extend((
            escape(context.call((undefined(name='hold') if l_0_hold is missing else l_0_hold), l_1_face)),
            '\n</ol>\n</div></div>\n',
        ))
        return concat(t_23)
    context.exported_vars.add('lay')
    context.vars['lay'] = l_0_lay = Macro(environment, macro, 'lay', ('face',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_face):
        t_27 = []
        if l_1_face is missing:
            l_1_face = undefined("parameter 'face' was not provided", name='face')
        pass
        t_27.append(
            '<h3>',
        )
        if environment.getattr(environment.getattr(l_1_face, 'setup'), 'again'):
            pass
            t_27.append(
                'The panel lies as it did',
            )
        else:
            pass
            t_27.append(
                'Turn the panel',
            )
        t_27.append(
            '</h3>\n<ol class="steps">\n',
        )
        if environment.getattr(environment.getattr(l_1_face, 'setup'), 'again'):
            pass
            def macro():
                t_28 = []
                pass
                t_28.append(
                    'The panel lies as it did when this face was cut. If it was moved, brush the panel and the bed clean and put it back. Press on each corner: it must not rock.',
                )
                return concat(t_28)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            t_27.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-lay', )), caller=caller))
        else:
            pass
            def macro():
                t_29 = []
                pass
                if environment.getattr(l_1_face, 'clamps'):
                    pass
                    t_29.append(
                        'Take the clamps off and lift',
                    )
                else:
                    pass
                    t_29.append(
                        'Lift',
                    )
                t_29.extend((
                    ' the panel out. Take all leaves out; the dogs stay. Brush the bed and the panel clean. <strong>Turn the panel over its ',
                    escape(environment.getattr(l_1_face, 'turn')),
                    ' edge</strong> (the ',
                    escape(environment.getattr(l_1_face, 'turn_axis')),
                    ').',
                ))
                return concat(t_29)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            t_27.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-turn', )), caller=caller))
            def macro():
                t_30 = []
                pass
                t_30.append(
                    'Lay the panel down',
                )
                if environment.getattr(l_1_face, 'dogs'):
                    pass
                    t_30.extend((
                        ' against all dogs (',
                        escape(environment.getattr(l_1_face, 'dogs')),
                        ')',
                    ))
                t_30.extend((
                    ', <strong>its ',
                    escape(environment.getattr(l_1_face, 'front')),
                    ' edge now toward you</strong>. Press on each corner: one that moves gets a leaf where it gives, not a push.',
                ))
                return concat(t_30)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            t_27.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-lay', )), caller=caller))
        if environment.getattr(l_1_face, 'holders'):
            pass
            t_27.append(
                escape(context.call((undefined(name='hold') if l_0_hold is missing else l_0_hold), l_1_face)),
            )
        t_27.append(
            '</ol>\n',
        )
        if (not environment.getattr(environment.getattr(l_1_face, 'setup'), 'again')):
            pass
            t_27.append(
                '<div class="table" tabindex="0" role="group" aria-label="Edges after turning"><table><thead><tr><th>Edge of the bed</th><th>Edge of the panel there now</th></tr></thead><tbody>\n',
            )
            for (l_2_bed, l_2_own) in environment.getattr(l_1_face, 'edges'):
                _loop_vars = {}
                pass
                t_27.extend((
                    '<tr><td>',
                    escape(l_2_bed),
                    '</td><td>',
                ))
                if (l_2_own == l_2_bed):
                    pass
                    t_27.extend((
                        escape(l_2_own),
                        ', as before',
                    ))
                else:
                    pass
                    t_27.extend((
                        '<strong>',
                        escape(l_2_own),
                        '</strong>',
                    ))
                t_27.append(
                    '</td></tr>\n',
                )
            l_2_bed = l_2_own = missing
            t_27.append(
                '</tbody></table></div>\n',
            )
        return concat(t_27)
    context.exported_vars.add('turn')
    context.vars['turn'] = l_0_turn = Macro(environment, macro, 'turn', ('face',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_face):
        t_31 = []
        l_1_setup = l_1_touch = missing
        if l_1_face is missing:
            l_1_face = undefined("parameter 'face' was not provided", name='face')
        pass
        (l_1_setup, l_1_touch) = (environment.getattr(l_1_face, 'setup'), environment.getattr(environment.getattr(l_1_face, 'setup'), 'touch'))
        t_31.extend((
            '<h3>Set the zero (',
            escape(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'offset')),
            ')</h3>\n<ol class="steps">\n',
        ))
        def macro():
            t_32 = []
            l_2_collet = resolve('collet')
            pass
            t_32.extend((
                '<b>Isolate the spindle</b> before you touch the cutter, touch off or measure. ',
                escape(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'cutter'), 'name')),
                ' is sharp and undamaged, clean and tight in the right collet (',
                escape((undefined(name='collet') if l_2_collet is missing else l_2_collet)),
                '), ',
                escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'cutter'), 'stick_out'))),
                ' from the collet face to the cutting edge. ',
                escape(t_2(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'speed'))),
                ' rpm is within the speed marked on it (',
                escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'cutter'), 'speed'), 'least'))),
                ' to ',
                escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'cutter'), 'speed'), 'most'))),
                ').',
            ))
            return concat(t_32)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        t_31.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-cutter', )), caller=caller))
        def macro():
            t_33 = []
            l_2_corner = resolve('corner')
            l_2_zero_of = resolve('zero_of')
            pass
            if (environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'again') or environment.getattr(l_1_face, 'turned')):
                pass
                t_33.append(
                    'Keep X and Y: zero is',
                )
            else:
                pass
                t_33.append(
                    'Set X 0, Y 0',
                )
            t_33.extend((
                ' over the ',
                escape((undefined(name='corner') if l_2_corner is missing else l_2_corner)),
                ' corner of the ',
                escape((undefined(name='zero_of') if l_2_zero_of is missing else l_2_zero_of)),
                ', at machine <span class="whole">X ',
                escape(environment.getitem(environment.getattr(l_1_face, 'origin'), 0)),
                ', Y ',
                escape(environment.getitem(environment.getattr(l_1_face, 'origin'), 1)),
                '</span>.',
            ))
            if ((not t_11(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'after_first'))) or (not t_11(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'after_second')))):
                pass
                t_33.append(
                    ' <strong>If the panel was cut in a batch, set X and Y anew there</strong>: the zero of a batch is at its first panel.',
                )
            return concat(t_33)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        t_31.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-xy', )), caller=caller))
        def macro():
            t_34 = []
            pass
            if environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'zero_on_face'):
                pass
                if environment.getattr((undefined(name='touch') if l_1_touch is missing else l_1_touch), 'kept'):
                    pass
                    t_34.append(
                        '<strong>Keep the Z that is still set.</strong> Only if the zero was lost, touch',
                    )
                else:
                    pass
                    t_34.append(
                        '<strong>Set Z anew on the cut face</strong>: with the zero of the cut before, the panel stayed too thick. Touch',
                    )
                t_34.append(
                    ' the cut face where ',
                )
                if environment.getattr((undefined(name='touch') if l_1_touch is missing else l_1_touch), 'kept'):
                    pass
                    t_34.append(
                        'no mark is left',
                    )
                else:
                    pass
                    t_34.append(
                        'you measured',
                    )
                t_34.extend((
                    '. Set <strong>Z ',
                    escape(environment.getitem(environment.getattr(l_1_face, 'face_z'), 1)),
                    '</strong> there',
                ))
                if environment.getattr((undefined(name='touch') if l_1_touch is missing else l_1_touch), 'paper'):
                    pass
                    t_34.extend((
                        '; the cut face itself is at Z ',
                        escape(environment.getitem(environment.getattr(l_1_face, 'face_z'), 0)),
                    ))
                t_34.append(
                    '.',
                )
            elif (environment.getattr((undefined(name='touch') if l_1_touch is missing else l_1_touch), 'on') == 'bed'):
                pass
                if environment.getattr(l_1_face, 'turned'):
                    pass
                    t_34.append(
                        'Keep Z from the first face. Only if the zero was lost, touch',
                    )
                else:
                    pass
                    t_34.append(
                        'Touch',
                    )
                t_34.extend((
                    ' the bare bed beside the panel, at <strong class="whole">X ',
                    escape(environment.getitem(environment.getattr(l_1_face, 'touch_at'), 0)),
                    ', Y ',
                    escape(environment.getitem(environment.getattr(l_1_face, 'touch_at'), 1)),
                    '</strong> (dashed red ring). Set Z 0 there.',
                ))
            else:
                pass
                if (not environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed')):
                    pass
                    t_34.append(
                        'Touch the bare bed beside the panel first',
                    )
                    if environment.getattr(l_1_face, 'bed_at'):
                        pass
                        t_34.extend((
                            ', at <strong class="whole">X ',
                            escape(environment.getitem(environment.getattr(l_1_face, 'bed_at'), 0)),
                            ', Y ',
                            escape(environment.getitem(environment.getattr(l_1_face, 'bed_at'), 1)),
                            '</strong>',
                        ))
                    t_34.append(
                        '. ',
                    )
                t_34.extend((
                    'Touch the top at <strong class="whole">X ',
                    escape(environment.getitem(environment.getattr(l_1_face, 'touch_at'), 0)),
                    ', Y ',
                    escape(environment.getitem(environment.getattr(l_1_face, 'touch_at'), 1)),
                    "</strong> (dashed red ring: the cutter's centre ",
                    escape(environment.getattr(l_1_face, 'touch_from_edge')),
                    ').',
                ))
                if (not environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed')):
                    pass
                    t_34.extend((
                        ' It should be ',
                        escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='touch') if l_1_touch is missing else l_1_touch), 'height'))),
                        ' above the bed. <strong>Stop if the difference of the two touches is off by more than ',
                        escape(environment.getattr(l_1_face, 'touch_limit')),
                        '</strong>: ',
                    ))
                    if environment.getattr(l_1_face, 'turned'):
                        pass
                        t_34.append(
                            'measure the thickness, write it into the job as <code>after first</code>',
                        )
                    else:
                        pass
                        t_34.append(
                            'survey the panel again',
                        )
                    t_34.append(
                        ', and build again.',
                    )
                t_34.append(
                    ' Set Z 0 there.',
                )
            if t_11(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'top')):
                pass
                t_34.extend((
                    ' <strong>Jog up until Z is above ',
                    escape(environment.getattr(l_1_face, 'lift')),
                    '</strong> before you start the program.',
                ))
            return concat(t_34)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        t_31.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-z', )), caller=caller))
        t_31.append(
            '</ol>\n<p>To touch: lower the stopped cutter in small steps; with the axis at rest, turn it once round by hand, until the wing that hangs lowest just drags',
        )
        if environment.getattr((undefined(name='touch') if l_1_touch is missing else l_1_touch), 'paper'):
            pass
            t_31.extend((
                ' on paper ',
                escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='touch') if l_1_touch is missing else l_1_touch), 'paper'))),
                ' thick',
            ))
        t_31.append(
            '. The zero is lost, and Z set anew, whenever the cutter was out of the collet, the power was off or the machine was referenced.</p>\n',
        )
        return concat(t_31)
    context.exported_vars.add('zero')
    context.vars['zero'] = l_0_zero = Macro(environment, macro, 'zero', ('face',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_face):
        t_35 = []
        if l_1_face is missing:
            l_1_face = undefined("parameter 'face' was not provided", name='face')
        pass
        t_35.extend((
            '<div class="two figures">\n<div class="table" tabindex="0" role="group" aria-label="Passes"><table class="cards three"><thead><tr><th>Pass</th><th class="n">Z shows</th><th class="n">Above ',
            escape(("the board's top" if environment.getattr(l_1_face, 'is_bed') else 'bed')),
            '</th><th class="n">Expected bite</th><th class="n">Maximum bite</th><th class="n">Way</th><th class="n">Time</th></tr></thead><tbody>\n',
        ))
        l_2_loop = missing
        for l_2_each, l_2_loop in LoopContext(environment.getattr(environment.getattr(l_1_face, 'setup'), 'passes'), undefined):
            l_2_duration = resolve('duration')
            _loop_vars = {}
            pass
            t_35.extend((
                '<tr data-pass="',
                escape(environment.getattr(l_2_loop, 'index')),
                '"><td class="key">',
                escape(environment.getattr(l_2_loop, 'index')),
            ))
            if environment.getattr(l_2_each, 'finish'):
                pass
                t_35.append(
                    '&nbsp;finish',
                )
            if (environment.getattr(l_1_face, 'skipped') and (environment.getattr(l_2_loop, 'index') <= environment.getattr(environment.getattr(l_1_face, 'skipped'), 'passes'))):
                pass
                t_35.append(
                    '&nbsp;<code>/</code>',
                )
            t_35.extend((
                '</td><td class="n" data-of="Z shows">',
                escape(environment.getitem(environment.getattr(l_1_face, 'shows'), environment.getattr(l_2_loop, 'index0'))),
                '</td><td class="n" data-of="Above ',
                escape(('the top' if environment.getattr(l_1_face, 'is_bed') else 'bed')),
                '">',
                escape(context.call(environment.getattr(l_1_face, 'unit'), environment.getattr(l_2_each, 'plane'), _loop_vars=_loop_vars)),
                '</td><td class="n" data-of="Expected bite">',
            ))
            if (environment.getattr(l_2_each, 'depth') < 0.0005):
                pass
                t_35.append(
                    'none',
                )
            else:
                pass
                t_35.append(
                    escape(context.call(environment.getattr(l_1_face, 'unit'), environment.getattr(l_2_each, 'depth'), _loop_vars=_loop_vars)),
                )
            t_35.extend((
                '</td><td class="n" data-of="Maximum bite">',
                escape(context.call(environment.getattr(l_1_face, 'unit'), environment.getattr(l_2_each, 'limit'), _loop_vars=_loop_vars)),
                '</td><td class="n" data-of="Way">',
            ))
            if environment.getattr(l_2_each, 'rounds'):
                pass
                t_35.extend((
                    escape(environment.getattr(l_2_each, 'rounds')),
                    ' round',
                    escape(('s' if (environment.getattr(l_2_each, 'rounds') != 1) else cond_expr_undefined("the inline if-expression on line 87 in 'sheet.html.jinja' evaluated to false and no else section was defined."))),
                ))
            elif environment.getattr(l_2_each, 'rows'):
                pass
                t_35.extend((
                    escape(t_4(environment.getattr(l_2_each, 'rows'))),
                    ' row',
                    escape(('s' if (t_4(environment.getattr(l_2_each, 'rows')) != 1) else cond_expr_undefined("the inline if-expression on line 87 in 'sheet.html.jinja' evaluated to false and no else section was defined."))),
                ))
            else:
                pass
                t_35.append(
                    'edge',
                )
            t_35.extend((
                '</td><td class="n" data-of="Time">',
                escape(context.call((undefined(name='duration') if l_2_duration is missing else l_2_duration), environment.getattr(l_2_each, 'time'), _loop_vars=_loop_vars)),
                '</td></tr>\n',
            ))
        l_2_loop = l_2_each = l_2_duration = missing
        t_35.append(
            '</tbody></table></div>\n',
        )
        if environment.getattr(l_1_face, 'measure'):
            pass
            t_35.append(
                '<div><div class="table" tabindex="0" role="group" aria-label="Readings"><table><thead><tr><th>Measure at</th><th>On bed now</th>',
            )
            if environment.getattr(environment.getattr(l_1_face, 'measure'), 'expected'):
                pass
                t_35.append(
                    '<th class="n">Expected</th>',
                )
            t_35.append(
                '<th>Measured</th></tr></thead><tbody>\n',
            )
            for (l_2_place, l_2_now) in environment.getattr(environment.getattr(l_1_face, 'measure'), 'places'):
                _loop_vars = {}
                pass
                t_35.extend((
                    '<tr><td>',
                    escape(context.call(environment.getattr(l_2_place, 'replace'), '_', ' ', _loop_vars=_loop_vars)),
                    '</td><td>',
                    escape(l_2_now),
                    '</td>',
                ))
                if environment.getattr(environment.getattr(l_1_face, 'measure'), 'expected'):
                    pass
                    t_35.extend((
                        '<td class="n">',
                        escape(context.call(environment.getattr(l_1_face, 'unit'), environment.getitem(environment.getattr(environment.getattr(l_1_face, 'measure'), 'expected'), l_2_place), _loop_vars=_loop_vars)),
                        '</td>',
                    ))
                t_35.append(
                    '<td><span class="fill">&nbsp;</span></td></tr>\n',
                )
            l_2_place = l_2_now = missing
            t_35.append(
                '</tbody></table></div>\n',
            )
            if (not (undefined(name='batch') if l_0_batch is missing else l_0_batch)):
                pass
                t_35.extend((
                    '<p>Write the thickness at the five places into the job <code>',
                    escape(environment.getattr(l_1_face, 'job')),
                    '</code> in ',
                    escape(environment.getattr(l_1_face, 'source')),
                ))
                if environment.getattr(environment.getattr(environment.getattr(l_1_face, 'setup'), 'touch'), 'kept'):
                    pass
                    t_35.append(
                        ' in place of <code>marks left</code>',
                    )
                t_35.extend((
                    ' and build again: <code>',
                    escape(environment.getattr(environment.getattr(l_1_face, 'measure'), 'line')),
                    '</code></p>',
                ))
            t_35.append(
                '</div>\n',
            )
        t_35.append(
            '</div>\n',
        )
        return concat(t_35)
    context.exported_vars.add('figures')
    context.vars['figures'] = l_0_figures = Macro(environment, macro, 'figures', ('face',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_face):
        t_36 = []
        if l_1_face is missing:
            l_1_face = undefined("parameter 'face' was not provided", name='face')
        pass
        if environment.getattr(l_1_face, 'map'):
            pass
            def macro():
                t_37 = []
                pass
                t_37.append(
                    escape(context.call((undefined(name='picture') if l_0_picture is missing else l_0_picture), environment.getattr(l_1_face, 'map'), (('Height map of the ' + environment.getattr(l_1_face, 'face')) + ' face'), environment.getattr(l_1_face, 'map_words'))),
                )
                return concat(t_37)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            t_36.append(context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Height map', caller=caller))
        if environment.getattr(environment.getattr(l_1_face, 'setup'), 'passes'):
            pass
            def macro():
                t_38 = []
                pass
                t_38.append(
                    '<figure aria-label="Toolpaths of the passes"><div class="ways">',
                )
                for (l_3_words, l_3_svg) in environment.getattr(l_1_face, 'ways'):
                    _loop_vars = {}
                    pass
                    t_38.extend((
                        '<div>',
                        escape(l_3_svg),
                        '<span>',
                        escape(l_3_words),
                        '</span></div>',
                    ))
                l_3_words = l_3_svg = missing
                t_38.append(
                    "</div>\n<figcaption>The toolpath of the cutter's centre, seen from above as in the plan. It starts at the ring; solid lines are cuts, dashed lines are in the air.</figcaption></figure>",
                )
                return concat(t_38)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            t_36.append(context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Toolpaths', caller=caller))
            def macro():
                t_39 = []
                pass
                t_39.append(
                    escape(context.call((undefined(name='picture') if l_0_picture is missing else l_0_picture), environment.getattr(l_1_face, 'stack'), (('Passes of the ' + environment.getattr(l_1_face, 'face')) + ' face'), environment.getattr(l_1_face, 'stack_words'), 'Next pass')),
                )
                return concat(t_39)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            t_36.append(context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Passes above one another', caller=caller))
        def macro():
            t_40 = []
            pass
            t_40.append(
                escape(context.call((undefined(name='picture') if l_0_picture is missing else l_0_picture), environment.getattr(l_1_face, 'section'), (('Section of the ' + environment.getattr(l_1_face, 'face')) + ' face'), environment.getattr(l_1_face, 'section_words'), 'Next part')),
            )
            return concat(t_40)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        t_36.append(context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Section', caller=caller))
        return concat(t_36)
    context.exported_vars.add('folds')
    context.vars['folds'] = l_0_folds = Macro(environment, macro, 'folds', ('face',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_said):
        t_41 = []
        l_1_warnings = resolve('warnings')
        l_1_notes = resolve('notes')
        if l_1_said is missing:
            l_1_said = undefined("parameter 'said' was not provided", name='said')
        pass
        if (undefined(name='warnings') if l_1_warnings is missing else l_1_warnings):
            pass
            def macro():
                t_42 = []
                pass
                t_42.append(
                    '<ul>',
                )
                for l_3_finding in (undefined(name='warnings') if l_1_warnings is missing else l_1_warnings):
                    _loop_vars = {}
                    pass
                    t_42.extend((
                        '<li>',
                        escape(environment.getattr(l_3_finding, 'code')),
                        ': ',
                        escape(environment.getattr(l_3_finding, 'message')),
                        ' ',
                        escape(environment.getattr(l_3_finding, 'help')),
                        '</li>\n',
                    ))
                l_3_finding = missing
                t_42.append(
                    '</ul>\n',
                )
                return concat(t_42)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            t_41.append(context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Warnings in full', caller=caller))
        if (l_1_said or (undefined(name='notes') if l_1_notes is missing else l_1_notes)):
            pass
            def macro():
                t_43 = []
                pass
                t_43.append(
                    '<ul class="soft">',
                )
                for l_3_note in l_1_said:
                    _loop_vars = {}
                    pass
                    t_43.extend((
                        '<li>',
                        escape(l_3_note),
                        '</li>',
                    ))
                l_3_note = missing
                for l_3_finding in (undefined(name='notes') if l_1_notes is missing else l_1_notes):
                    _loop_vars = {}
                    pass
                    t_43.extend((
                        '<li>',
                        escape(environment.getattr(l_3_finding, 'code')),
                        ': ',
                        escape(environment.getattr(l_3_finding, 'message')),
                        ' ',
                        escape(environment.getattr(l_3_finding, 'help')),
                        '</li>\n',
                    ))
                l_3_finding = missing
                t_43.append(
                    '</ul>\n',
                )
                return concat(t_43)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            t_41.append(context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Notes', caller=caller))
        return concat(t_41)
    context.exported_vars.add('remarks')
    context.vars['remarks'] = l_0_remarks = Macro(environment, macro, 'remarks', ('said',), False, False, False, context.eval_ctx.autoescape)
    def macro():
        t_44 = []
        l_1_waived = resolve('waived')
        l_1_warnings = resolve('warnings')
        l_1_fetch = resolve('fetch')
        l_1_open = missing
        pass
        if (undefined(name='waived') if l_1_waived is missing else l_1_waived):
            pass
            t_44.extend((
                '<div class="caution" role="group" aria-label="Waived rules"><h3>Waived rules: ',
                escape(('jobs of this batch break' if (undefined(name='batch') if l_0_batch is missing else l_0_batch) else 'this job breaks')),
                ' rules of the shop</h3>\n<div class="table" tabindex="0" role="group" aria-label="Waivers"><table class="cards"><thead><tr><th>Rule</th><th class="n">Found</th><th class="n">Limit</th><th>Reason</th></tr></thead><tbody>\n',
            ))
            for (l_2_rule, l_2_found, l_2_limit, l_2_because) in (undefined(name='waived') if l_1_waived is missing else l_1_waived):
                _loop_vars = {}
                pass
                t_44.extend((
                    '<tr><td class="key">',
                    escape(l_2_rule),
                    '</td><td class="n" data-of="Found">',
                    escape(l_2_found),
                    '</td><td class="n" data-of="Limit">',
                    escape(l_2_limit),
                    '</td><td data-of="Reason">',
                    escape(l_2_because),
                    '</td></tr>\n',
                ))
            l_2_rule = l_2_found = l_2_limit = l_2_because = missing
            t_44.append(
                '</tbody></table></div></div>\n',
            )
        l_1_open = t_5(context.eval_ctx, t_8(context, (undefined(name='warnings') if l_1_warnings is missing else l_1_warnings), 'code', 'equalto', 'FW703'))
        if (undefined(name='open') if l_1_open is missing else l_1_open):
            pass
            t_44.append(
                '<div class="caution" role="group" aria-label="Warnings"><h3>Warnings</h3>\n<ul>',
            )
            for l_2_finding in (undefined(name='open') if l_1_open is missing else l_1_open):
                _loop_vars = {}
                pass
                t_44.extend((
                    '<li>',
                    escape(environment.getattr(l_2_finding, 'code')),
                    ': ',
                    escape(environment.getattr(l_2_finding, 'message')),
                    '</li>\n',
                ))
            l_2_finding = missing
            t_44.append(
                '</ul></div>\n',
            )
        t_44.append(
            '<div class="two">\n<div><h2>Before you start</h2>\n<div class="caution"><p>The manuals of the machine and the cutter, local safety rules and trained supervision come before this sheet.</p></div>\n<ol class="steps">\n',
        )
        if ((undefined(name='setups') if l_0_setups is missing else l_0_setups) and ((not t_11(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'top'))) or (not t_11(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'park'))))):
            pass
            def macro():
                t_45 = []
                pass
                t_45.append(
                    '<strong>The machine was referenced since its power was switched on</strong>: the programs move in machine coordinates.',
                )
                return concat(t_45)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            t_44.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'before-referenced', caller=caller))
        def macro():
            t_46 = []
            pass
            t_46.append(
                'Safety glasses, hearing protection and a mask on; dust extraction ready. Sleeves, hair and cords tied back; rings off. <strong>No gloves near a turning cutter.</strong>',
            )
            return concat(t_46)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        t_44.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'before-wear', caller=caller))
        def macro():
            t_47 = []
            pass
            t_47.append(
                'The emergency stop is within reach and works. Never leave the machine while it runs.',
            )
            return concat(t_47)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        t_44.append(context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'before-stop', caller=caller))
        t_44.append(
            '</ol></div>\n',
        )
        if (undefined(name='setups') if l_0_setups is missing else l_0_setups):
            pass
            t_44.append(
                '<div><h2>What you need</h2>\n<ul class="fetch">',
            )
            for (l_2_what, l_2_which) in (undefined(name='fetch') if l_1_fetch is missing else l_1_fetch):
                _loop_vars = {}
                pass
                t_44.extend((
                    '<li><strong>',
                    escape(l_2_what),
                    ':</strong> ',
                    escape(l_2_which),
                    '</li>\n',
                ))
            l_2_what = l_2_which = missing
            t_44.append(
                '</ul></div>\n',
            )
        t_44.append(
            '</div>\n',
        )
        return concat(t_44)
    context.exported_vars.add('before')
    context.vars['before'] = l_0_before = Macro(environment, macro, 'before', (), False, False, False, context.eval_ctx.autoescape)
    def macro():
        t_48 = []
        l_1_total = resolve('total')
        pass
        t_48.append(
            '<div><dt>Programs</dt><dd>',
        )
        if (undefined(name='programs') if l_0_programs is missing else l_0_programs):
            pass
            t_48.append(
                escape(t_3(context.eval_ctx, (undefined(name='programs') if l_0_programs is missing else l_0_programs), ', ')),
            )
        elif ((undefined(name='preview') if l_0_preview is missing else l_0_preview) and (undefined(name='setups') if l_0_setups is missing else l_0_setups)):
            pass
            t_48.append(
                'None: this is a preview.',
            )
        else:
            pass
            t_48.append(
                'None. Nothing is left to cut.',
            )
        t_48.append(
            '</dd></div>\n',
        )
        if ((undefined(name='programs') if l_0_programs is missing else l_0_programs) or ((undefined(name='preview') if l_0_preview is missing else l_0_preview) and (undefined(name='setups') if l_0_setups is missing else l_0_setups))):
            pass
            t_48.extend((
                '<div><dt>Machine time (estimate)</dt><dd>',
                escape((undefined(name='total') if l_1_total is missing else l_1_total)),
                '</dd></div>\n',
            ))
        return concat(t_48)
    context.exported_vars.add('run')
    context.vars['run'] = l_0_run = Macro(environment, macro, 'run', (), False, False, False, context.eval_ctx.autoescape)
    def macro():
        t_49 = []
        pass
        t_49.append(
            '<span class="ticks live-only"><span id="ticked" role="status"></span><button type="button" id="clear">Clear all ticks</button></span>',
        )
        return concat(t_49)
    context.exported_vars.add('ticks')
    context.vars['ticks'] = l_0_ticks = Macro(environment, macro, 'ticks', (), False, False, False, context.eval_ctx.autoescape)
    yield '<!doctype html>\n<html lang="en"'
    if (undefined(name='preview') if l_0_preview is missing else l_0_preview):
        pass
        yield ' class="preview" data-version=""'
    yield '>\n<head>\n<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'; script-src \'sha256-'
    yield escape((undefined(name='script_hash') if l_0_script_hash is missing else l_0_script_hash))
    yield "'"
    if (undefined(name='preview') if l_0_preview is missing else l_0_preview):
        pass
        yield " 'strict-dynamic'"
    yield '">\n<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>'
    yield escape((undefined(name='title') if l_0_title is missing else l_0_title))
    yield ': '
    yield escape(('preview, not' if (undefined(name='preview') if l_0_preview is missing else l_0_preview) else 'sheet'))
    yield ' for the machine</title>\n<style>\n'
    yield escape((undefined(name='style') if l_0_style is missing else l_0_style))
    yield '</style>\n</head>\n<body>'
    if (undefined(name='preview') if l_0_preview is missing else l_0_preview):
        pass
        yield '<div id="preview" role="status"><p><strong>Preview: not proven, not for the machine.</strong> <span id="said">'
        yield escape((undefined(name='preview') if l_0_preview is missing else l_0_preview))
        yield '</span></p><ul id="errors"></ul></div>'
    if (undefined(name='batch') if l_0_batch is missing else l_0_batch):
        pass
        yield '<header>\n<h1>'
        yield escape(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'name'))
        yield '</h1>\n<p>'
        yield escape(t_4(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'panels')))
        yield ' panels on '
        yield escape(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'machine'))
        yield ', each face cut by one program. <span class="soft">Sources <code>'
        yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
        yield '</code>, '
        yield escape(environment.getitem(environment.getitem(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'sources'), 0), 0))
        yield ', flatwise '
        yield escape((undefined(name='version') if l_0_version is missing else l_0_version))
        yield '.</span></p>\n<dl class="facts">'
        yield escape(context.call((undefined(name='run') if l_0_run is missing else l_0_run)))
        yield '</dl>\n</header>\n<nav aria-label="Parts of the sheet">\n<a href="#before">Before</a><a href="#bed">Bed</a>'
        for l_1_face in environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'faces'):
            _loop_vars = {}
            pass
            yield '<a href="#'
            yield escape(environment.getattr(l_1_face, 'face'))
            yield '">'
            yield escape(t_1(environment.getattr(l_1_face, 'face')))
            yield ' faces</a>'
        l_1_face = missing
        l_1_loop = missing
        for l_1_own, l_1_loop in LoopContext(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'panels'), undefined):
            _loop_vars = {}
            pass
            yield '<a href="#panel-'
            yield escape(environment.getattr(environment.getattr(l_1_own, 'work'), 'name'))
            yield '">'
            yield escape(environment.getattr(l_1_loop, 'index'))
            yield ' '
            yield escape(environment.getattr(environment.getattr(l_1_own, 'work'), 'name'))
            yield '</a>'
        l_1_loop = l_1_own = missing
        yield escape(context.call((undefined(name='ticks') if l_0_ticks is missing else l_0_ticks)))
        yield '\n</nav>\n<main>\n<section id="before" data-key="flatwise/'
        yield escape(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'name'))
        yield '/before/'
        yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
        yield '">\n'
        yield escape(context.call((undefined(name='before') if l_0_before is missing else l_0_before)))
        yield '\n</section>\n<section id="bed" data-key="flatwise/'
        yield escape(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'name'))
        yield '/bed/'
        yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
        yield '">\n<h2>Lay all panels</h2>\n<div class="two">\n<figure aria-label="Plan of the bed">'
        yield escape(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'bed'))
        yield '<figcaption>The bed from above. Dashed blue frame: the travel. Red corner: X Y zero. Dashed red ring: touch off here.</figcaption></figure>\n<ol class="steps">\n'
        def macro():
            t_50 = []
            pass
            t_50.append(
                'Write on each panel its name, and on its edges in pencil: front, back, left, right.',
            )
            return concat(t_50)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'bed-names', caller=caller)
        def macro():
            t_51 = []
            pass
            t_51.append(
                "Mark on the bed where each panel's corner goes (see the table): with the spindle stopped, move its centre there.",
            )
            return concat(t_51)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'bed-marks', caller=caller)
        def macro():
            t_52 = []
            pass
            t_52.append(
                'Brush the bed and the panels clean. Lay each panel as its own page shows: its dogs first,',
            )
            if environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'leaves'):
                pass
                t_52.append(
                    " then its leaves, flat on the bed and flush with the panel's outline,",
                )
            t_52.append(
                ' then the panel against all its dogs, face up, its front edge toward you. Press on each corner: it must not rock.',
            )
            if environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'tape'):
                pass
                t_52.append(
                    ' A leaf marked <strong>tape</strong> would slip: tape it to the bed by the end that sticks out, never under the panel.',
                )
            return concat(t_52)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'bed-lay', caller=caller)
        def macro():
            t_53 = []
            pass
            t_53.append(
                'Clamps on, pushing sideways only: a panel that is forced flat springs back. <strong>Test every clamp by hand</strong>: no panel may move or lift. The holding forces are estimates.',
            )
            return concat(t_53)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'bed-hold', caller=caller)
        yield '</ol>\n</div>\n<div class="table" tabindex="0" role="group" aria-label="Panels"><table class="cards"><thead><tr><th>Panel</th><th>Size and wood</th><th>Place on the machine</th><th>Laid</th><th>Clamps tested</th></tr></thead><tbody>\n'
        l_1_loop = missing
        for (l_1_name, l_1_size, l_1_corner, l_1_x, l_1_y), l_1_loop in LoopContext(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'places'), undefined):
            _loop_vars = {}
            pass
            yield '<tr><td class="key">'
            yield escape(environment.getattr(l_1_loop, 'index'))
            yield ' '
            yield escape(l_1_name)
            yield '</td><td data-of="Size and wood">'
            yield escape(l_1_size)
            yield '</td><td data-of="Place on the machine">'
            yield escape(l_1_corner)
            yield ' corner at <span class="whole">X '
            yield escape(l_1_x)
            yield ', Y '
            yield escape(l_1_y)
            yield '</span></td>'
            yield escape(context.call((undefined(name='ticked') if l_0_ticked is missing else l_0_ticked), l_1_name, 'laid', 'Laid', _loop_vars=_loop_vars))
            yield escape(context.call((undefined(name='ticked') if l_0_ticked is missing else l_0_ticked), l_1_name, 'held', 'Clamps tested', _loop_vars=_loop_vars))
            yield '</tr>\n'
        l_1_loop = l_1_name = l_1_size = l_1_corner = l_1_x = l_1_y = missing
        yield '</tbody></table></div>\n</section>\n'
        l_1_loop = missing
        for l_1_face, l_1_loop in LoopContext(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'faces'), undefined):
            _loop_vars = {}
            pass
            yield '<section class="run" id="'
            yield escape(environment.getattr(l_1_face, 'face'))
            yield '" data-key="flatwise/'
            yield escape(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'name'))
            yield '/'
            yield escape(environment.getattr(l_1_face, 'face'))
            yield '/'
            yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
            yield '">\n<h2>'
            yield escape(environment.getattr(l_1_loop, 'index'))
            yield '. The '
            yield escape(environment.getattr(l_1_face, 'face'))
            yield ' faces: '
            yield escape(environment.getattr(l_1_face, 'face'))
            yield '.nc</h2>\n'
            if (environment.getattr(l_1_face, 'face') == 'second'):
                pass
                yield '<ol class="steps">\n'
                def macro():
                    t_54 = []
                    pass
                    t_54.append(
                        '<b>Isolate the spindle.</b> Take the clamps off and lift ',
                    )
                    if environment.getattr(l_1_face, 'left_lying'):
                        pass
                        t_54.append(
                            'the panels in the table',
                        )
                    else:
                        pass
                        t_54.append(
                            'all panels',
                        )
                    t_54.append(
                        ' out.',
                    )
                    if environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'leaves'):
                        pass
                        t_54.append(
                            ' Take all their leaves out;',
                        )
                    else:
                        pass
                        t_54.append(
                            ' Only',
                        )
                    t_54.append(
                        ' the dogs stay.',
                    )
                    if environment.getattr(l_1_face, 'left_lying'):
                        pass
                        t_54.extend((
                            ' <strong>Leave ',
                            escape(t_3(context.eval_ctx, environment.getattr(l_1_face, 'left_lying'), ', ')),
                            ' clamped</strong>: no second face.',
                        ))
                    t_54.append(
                        ' Brush the bed and the panels clean.',
                    )
                    return concat(t_54)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'bed-turn', caller=caller, _loop_vars=_loop_vars)
                def macro():
                    t_55 = []
                    pass
                    t_55.append(
                        '<strong>Turn each panel over the edge in the table</strong> and lay it down against all its dogs, as its own page shows. Press on each corner: one that moves gets a leaf where it gives, not a push.',
                    )
                    return concat(t_55)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'bed-turned', caller=caller, _loop_vars=_loop_vars)
                def macro():
                    t_56 = []
                    pass
                    t_56.append(
                        'Clamps on. <strong>Test every clamp by hand</strong> again.',
                    )
                    return concat(t_56)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'bed-held', caller=caller, _loop_vars=_loop_vars)
                yield '</ol>\n<div class="table" tabindex="0" role="group" aria-label="Panels to turn"><table class="cards"><thead><tr><th>Panel</th><th>Turn over</th><th>Toward you now</th><th>Turned</th><th>Clamps tested</th></tr></thead><tbody>\n'
                for l_2_own in environment.getattr(l_1_face, 'in_order_of_jobs'):
                    _loop_vars = {}
                    pass
                    yield '<tr><td class="key">'
                    yield escape(environment.getattr(l_2_own, 'number'))
                    yield ' '
                    yield escape(environment.getattr(l_2_own, 'job'))
                    yield '</td><td data-of="Turn over"><strong>'
                    yield escape(environment.getattr(l_2_own, 'turn'))
                    yield ' edge</strong>: the '
                    yield escape(environment.getattr(l_2_own, 'turn_axis'))
                    yield '</td><td data-of="Toward you now"><strong>'
                    yield escape(environment.getattr(l_2_own, 'front'))
                    yield ' edge</strong></td>'
                    yield escape(context.call((undefined(name='ticked') if l_0_ticked is missing else l_0_ticked), environment.getattr(l_2_own, 'job'), 'turned', 'Turned', _loop_vars=_loop_vars))
                    yield escape(context.call((undefined(name='ticked') if l_0_ticked is missing else l_0_ticked), environment.getattr(l_2_own, 'job'), 'held-again', 'Clamps tested', 'clamps tested after turning', _loop_vars=_loop_vars))
                    yield '</tr>\n'
                l_2_own = missing
                yield '</tbody></table></div>\n'
            if environment.getattr(l_1_loop, 'first'):
                pass
                yield escape(context.call((undefined(name='zero') if l_0_zero is missing else l_0_zero), environment.getattr(l_1_face, 'zero'), _loop_vars=_loop_vars))
                yield '\n'
            else:
                pass
                yield '<ol class="steps">\n'
                def macro():
                    t_57 = []
                    pass
                    t_57.append(
                        'Keep X, Y and Z from the first faces. Only if the zero was lost, set it again as there.',
                    )
                    if t_11(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'top')):
                        pass
                        t_57.extend((
                            ' <strong>Jog up until Z is above ',
                            escape(environment.getattr(environment.getattr(l_1_face, 'zero'), 'lift')),
                            '</strong> before you start the program.',
                        ))
                    return concat(t_57)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'bed-second-zero', caller=caller, _loop_vars=_loop_vars)
                yield '</ol>\n'
            yield '<h3>Cut</h3>\n<div class="caution"><p><b>Stay at the machine</b>, a hand at the stop. Hands and clothing away from the cutter. Stop at any change of sound.</p></div>\n<ol class="steps">\n'
            def macro():
                t_58 = []
                pass
                t_58.append(
                    'Scribble over the whole face of each panel in pencil.',
                )
                return concat(t_58)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join(('bed-', environment.getattr(l_1_face, 'face'), '-pencil', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_59 = []
                pass
                t_59.extend((
                    'Load <strong>',
                    escape(environment.getattr(l_1_face, 'face')),
                    '.nc</strong>: its header must show sources <code>',
                    escape((undefined(name='hash') if l_0_hash is missing else l_0_hash)),
                    "</code>. Run it once in the air above the work, as the machine's manual says: the cutter clears every holder and every panel.",
                ))
                return concat(t_59)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join(('bed-', environment.getattr(l_1_face, 'face'), '-air', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_60 = []
                pass
                t_60.extend((
                    'Cut: ',
                    escape(environment.getattr(l_1_face, 'passes')),
                    ' passes, about ',
                    escape(environment.getattr(l_1_face, 'time')),
                    ', in this order: ',
                ))
                l_3_loop = missing
                for l_3_own, l_3_loop in LoopContext(environment.getattr(l_1_face, 'panels'), undefined):
                    l_3_duration = resolve('duration')
                    _loop_vars = {}
                    pass
                    t_60.extend((
                        escape(environment.getattr(l_3_own, 'number')),
                        ' ',
                        escape(environment.getattr(l_3_own, 'job')),
                        ' (',
                        escape(context.call((undefined(name='duration') if l_3_duration is missing else l_3_duration), t_9(environment, environment.getattr(environment.getattr(l_3_own, 'setup'), 'passes'), 'time'), _loop_vars=_loop_vars)),
                        ')',
                        escape((', ' if (not environment.getattr(l_3_loop, 'last')) else '.')),
                    ))
                l_3_loop = l_3_own = l_3_duration = missing
                if (environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'extraction') == 'by hand'):
                    pass
                    t_60.append(
                        ' The program stops once before the spindle starts: switch the dust extraction on, then continue.',
                    )
                return concat(t_60)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join(('bed-', environment.getattr(l_1_face, 'face'), '-cut', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_61 = []
                pass
                t_61.append(
                    'The spindle has stopped and is isolated. Brush the chips away, look for pencil marks over each face, and measure each panel at the five places on its page.',
                )
                return concat(t_61)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join(('bed-', environment.getattr(l_1_face, 'face'), '-marks', )), caller=caller, _loop_vars=_loop_vars)
            yield '</ol>\n</section>\n'
        l_1_loop = l_1_face = missing
        if (undefined(name='programs') if l_0_programs is missing else l_0_programs):
            pass
            yield '<section id="alone"><h2>If a panel needs more</h2>\n<p>Pencil marks are left on it, or its thickness is not as expected. Write into its job <code>after first { marks left }</code> or <code>'
            yield escape(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'line'))
            yield '</code>'
            if (t_4(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'faces')) > 1):
                pass
                yield '; once its second face is cut, write <code>after second</code> instead'
            yield '. '
            if environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'laid'):
                pass
                yield 'Write its corner and place from the table of panels into its <code>zero</code>. '
            yield 'Take it out of the batch and build it alone: <code>flatwise build '
            yield escape(environment.getitem(environment.getitem(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'sources'), 0), 0))
            yield ':NAME</code>. Work from its own sheet then, and <strong>set X 0, Y 0 over its own corner</strong>.</p>\n</section>\n'
        l_1_loop = missing
        for l_1_own, l_1_loop in LoopContext(environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'panels'), undefined):
            l_1_lying = missing
            _loop_vars = {}
            pass
            l_1_lying = environment.getitem(environment.getattr(l_1_own, 'setups'), 0)
            _loop_vars['lying'] = l_1_lying
            yield '<section class="panel" id="panel-'
            yield escape(environment.getattr(environment.getattr(l_1_own, 'work'), 'name'))
            yield '">\n<h2>Panel '
            yield escape(environment.getattr(l_1_loop, 'index'))
            yield ': '
            yield escape(environment.getattr(environment.getattr(l_1_own, 'work'), 'name'))
            yield '</h2>\n<p>'
            yield escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr(environment.getattr(l_1_own, 'job'), 'stock'), 'size'), 'length'), _loop_vars=_loop_vars))
            yield ' × '
            yield escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr(environment.getattr(l_1_own, 'job'), 'stock'), 'size'), 'width'), _loop_vars=_loop_vars))
            yield ' × '
            yield escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr(environment.getattr(l_1_own, 'job'), 'stock'), 'size'), 'thickness'), _loop_vars=_loop_vars))
            yield ' '
            yield escape(context.call(environment.getattr(environment.getattr(environment.getattr(environment.getattr(l_1_own, 'job'), 'stock'), 'wood'), 'replace'), '_', ' ', _loop_vars=_loop_vars))
            yield ', grain along '
            yield escape(t_10(environment.getattr(environment.getattr(environment.getattr(l_1_own, 'job'), 'stock'), 'grain')))
            yield '.'
            if (not t_11(environment.getattr(environment.getattr(l_1_own, 'plan'), 'target'))):
                pass
                yield ' Target thickness <strong>'
                yield escape(context.call(environment.getattr(l_1_own, 'unit'), environment.getattr(environment.getattr(l_1_own, 'plan'), 'target'), _loop_vars=_loop_vars))
                yield '</strong>.'
            yield ' Forecast <strong>'
            yield escape(context.call(environment.getattr(l_1_own, 'unit'), environment.getattr(environment.getattr(l_1_own, 'plan'), 'forecast'), _loop_vars=_loop_vars))
            if environment.getattr(environment.getattr(l_1_own, 'plan'), 'parts'):
                pass
                yield ' ± '
                yield escape(context.call(environment.getattr(l_1_own, 'unit'), environment.getattr(environment.getattr(l_1_own, 'plan'), 'plus_minus'), _loop_vars=_loop_vars))
            yield '</strong>.</p>\n<div class="two">\n<figure aria-label="Plan of what to lay for '
            yield escape(environment.getattr(environment.getattr(l_1_own, 'work'), 'name'))
            yield '">'
            yield escape(environment.getattr((undefined(name='lying') if l_1_lying is missing else l_1_lying), 'laid'))
            yield '<figcaption>'
            yield escape(environment.getattr((undefined(name='lying') if l_1_lying is missing else l_1_lying), 'laid_words'))
            yield '</figcaption></figure>\n<div>'
            yield escape(context.call((undefined(name='holders') if l_0_holders is missing else l_0_holders), (undefined(name='lying') if l_1_lying is missing else l_1_lying), _loop_vars=_loop_vars))
            if environment.getattr((undefined(name='lying') if l_1_lying is missing else l_1_lying), 'leaves'):
                pass
                yield escape(context.call((undefined(name='leaves') if l_0_leaves is missing else l_0_leaves), (undefined(name='lying') if l_1_lying is missing else l_1_lying), _loop_vars=_loop_vars))
            else:
                pass
                yield '<p><strong>No leaves</strong> under this panel.</p>'
            yield '</div>\n</div>\n'
            for l_2_face in environment.getattr(l_1_own, 'setups'):
                _loop_vars = {}
                pass
                yield '<div class="face" id="'
                yield escape(environment.getattr(l_2_face, 'key'))
                yield '">\n<h3>The '
                yield escape(environment.getattr(l_2_face, 'face'))
                yield ' face'
                if environment.getattr(l_2_face, 'turned'):
                    pass
                    yield ': turned over its '
                    yield escape(environment.getattr(l_2_face, 'turn'))
                    yield ' edge, its '
                    yield escape(environment.getattr(l_2_face, 'front'))
                    yield ' edge toward you'
                yield '</h3>\n<p>Removed <strong>'
                yield escape(context.call(environment.getattr(l_1_own, 'unit'), environment.getattr(environment.getattr(l_2_face, 'setup'), 'removed_mean'), _loop_vars=_loop_vars))
                yield '</strong> on average. Feed <strong>'
                yield escape(environment.getattr(l_2_face, 'feed'))
                yield '</strong>, '
                yield escape(environment.getattr(l_2_face, 'feed_limit'))
                yield '.</p>\n'
                if environment.getattr(l_2_face, 'turned'):
                    pass
                    yield escape(context.call((undefined(name='picture') if l_0_picture is missing else l_0_picture), environment.getattr(l_2_face, 'plan'), ((('Plan of the ' + environment.getattr(l_2_face, 'face')) + ' face of ') + environment.getattr(l_2_face, 'job')), environment.getattr(l_2_face, 'plan_words'), 'Next part', _loop_vars=_loop_vars))
                    yield escape(context.call((undefined(name='stepper') if l_0_stepper is missing else l_0_stepper), l_2_face, _loop_vars=_loop_vars))
                yield escape(context.call((undefined(name='figures') if l_0_figures is missing else l_0_figures), l_2_face, _loop_vars=_loop_vars))
                yield '\n'
                if (not environment.getattr(l_2_face, 'turned')):
                    pass
                    def macro():
                        t_62 = []
                        pass
                        t_62.extend((
                            escape(context.call((undefined(name='picture') if l_0_picture is missing else l_0_picture), environment.getattr(l_2_face, 'plan'), ((('Plan of the ' + environment.getattr(l_2_face, 'face')) + ' face of ') + environment.getattr(l_2_face, 'job')), environment.getattr(l_2_face, 'plan_words'), 'Next part')),
                            escape(context.call((undefined(name='stepper') if l_0_stepper is missing else l_0_stepper), l_2_face)),
                        ))
                        return concat(t_62)
                    caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                    yield context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Plan with toolpaths', caller=caller, _loop_vars=_loop_vars)
                yield escape(context.call((undefined(name='folds') if l_0_folds is missing else l_0_folds), l_2_face, _loop_vars=_loop_vars))
                yield '\n</div>\n'
            l_2_face = missing
            yield '</section>\n'
        l_1_loop = l_1_own = l_1_lying = missing
        yield '<section class="more" id="more">'
        yield escape(context.call((undefined(name='remarks') if l_0_remarks is missing else l_0_remarks), environment.getattr((undefined(name='batch') if l_0_batch is missing else l_0_batch), 'notes')))
        yield '</section>\n</main>\n'
    elif (undefined(name='plan') if l_0_plan is missing else l_0_plan):
        pass
        yield '<header>\n<h1>'
        yield escape(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'name'))
        yield '</h1>\n<p>'
        yield escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'size'), 'length')))
        yield ' × '
        yield escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'size'), 'width')))
        yield ' × '
        yield escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'size'), 'thickness')))
        yield ' '
        yield escape(context.call(environment.getattr(environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'wood'), 'replace'), '_', ' '))
        yield ', grain along '
        yield escape(t_10(environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'grain')))
        yield ', on '
        yield escape(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'machine'))
        yield '. <span class="soft">Sources <code>'
        yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
        yield '</code>, '
        yield escape(environment.getitem(environment.getitem(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'sources'), 0), 0))
        yield ', flatwise '
        yield escape((undefined(name='version') if l_0_version is missing else l_0_version))
        yield '.</span></p>\n<dl class="facts">\n'
        if (not t_11(environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'target'))):
            pass
            yield '<div><dt>Target thickness</dt><dd>'
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'target')))
            yield '</dd></div>\n'
        yield '<div><dt>'
        if (undefined(name='setups') if l_0_setups is missing else l_0_setups):
            pass
            yield 'Forecast'
        else:
            pass
            yield 'Thickness now'
        yield '</dt><dd>'
        yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'forecast')))
        if environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'parts'):
            pass
            yield ' ± '
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'plus_minus')))
        yield '</dd></div>\n'
        yield escape(context.call((undefined(name='run') if l_0_run is missing else l_0_run)))
        yield '\n</dl>\n</header>\n<nav aria-label="Parts of the sheet">\n<a href="#before">Before</a>'
        for l_1_face in (undefined(name='setups') if l_0_setups is missing else l_0_setups):
            _loop_vars = {}
            pass
            yield '<a href="#'
            yield escape(environment.getattr(l_1_face, 'face'))
            yield '">'
            yield escape(t_1(environment.getattr(l_1_face, 'face')))
            yield ' face</a>'
        l_1_face = missing
        if (undefined(name='setups') if l_0_setups is missing else l_0_setups):
            pass
            yield '<a href="#more">More</a>'
        yield escape(context.call((undefined(name='ticks') if l_0_ticks is missing else l_0_ticks)))
        yield '\n</nav>\n<main>\n<section id="before" data-key="flatwise/'
        yield escape(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'name'))
        yield '/before/'
        yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
        yield '">\n'
        yield escape(context.call((undefined(name='before') if l_0_before is missing else l_0_before)))
        yield '\n'
        if (undefined(name='setups') if l_0_setups is missing else l_0_setups):
            pass
            if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed'):
                pass
                yield '<h2>Clear the board</h2>\n<p>This program skims the machine\'s own board. Height 0 is the top of the board before the cut; negative heights lie in the board.</p>\n<ol class="steps">\n'
                def macro():
                    t_63 = []
                    pass
                    t_63.extend((
                        'Nothing is on the board: no clamp, no dog, no leaf. Every screw and pin in it is deeper than the lowest pass, <strong>',
                        escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), (-environment.getattr(environment.getattr(environment.getitem((undefined(name='setups') if l_0_setups is missing else l_0_setups), 0), 'setup'), 'plane')))),
                        '</strong> below the top.',
                    ))
                    return concat(t_63)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'first-bare', caller=caller)
                def macro():
                    t_64 = []
                    pass
                    t_64.append(
                        'The board is fixed to the bed and brushed clean.',
                    )
                    return concat(t_64)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'first-brush', caller=caller)
                yield '</ol>\n'
            elif environment.getattr(environment.getitem((undefined(name='setups') if l_0_setups is missing else l_0_setups), 0), 'lays'):
                pass
                yield escape(context.call((undefined(name='lay') if l_0_lay is missing else l_0_lay), environment.getitem((undefined(name='setups') if l_0_setups is missing else l_0_setups), 0)))
                yield '\n'
            else:
                pass
                if environment.getattr(environment.getattr(environment.getitem((undefined(name='setups') if l_0_setups is missing else l_0_setups), 0), 'setup'), 'again'):
                    pass
                    yield escape(context.call((undefined(name='turn') if l_0_turn is missing else l_0_turn), environment.getitem((undefined(name='setups') if l_0_setups is missing else l_0_setups), 0)))
                if environment.getattr(environment.getitem((undefined(name='setups') if l_0_setups is missing else l_0_setups), 0), 'holders'):
                    pass
                    yield escape(context.call((undefined(name='holders') if l_0_holders is missing else l_0_holders), environment.getitem((undefined(name='setups') if l_0_setups is missing else l_0_setups), 0)))
        yield '</section>\n\n'
        l_1_loop = missing
        for l_1_face, l_1_loop in LoopContext((undefined(name='setups') if l_0_setups is missing else l_0_setups), undefined):
            l_1_duration = resolve('duration')
            l_1_setup = missing
            _loop_vars = {}
            pass
            l_1_setup = environment.getattr(l_1_face, 'setup')
            _loop_vars['setup'] = l_1_setup
            yield '<section class="face" id="'
            yield escape(environment.getattr(l_1_face, 'face'))
            yield '" data-key="flatwise/'
            yield escape(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'name'))
            yield '/'
            yield escape(environment.getattr(l_1_face, 'face'))
            yield '/'
            yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
            yield '">\n<h2>'
            yield escape(environment.getattr(l_1_loop, 'index'))
            yield '. The '
            yield escape(environment.getattr(l_1_face, 'face'))
            yield ' face'
            if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed'):
                pass
                yield ' of the board'
            if environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'again'):
                pass
                yield ', again'
            yield ': '
            yield escape(environment.getattr(l_1_face, 'face'))
            yield '.nc</h2>\n<p class="lead">'
            yield escape(environment.getattr(l_1_face, 'lead'))
            yield '</p>\n<p>Removed <strong>'
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'removed_mean'), _loop_vars=_loop_vars))
            yield '</strong>'
            if (context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'removed_least'), _loop_vars=_loop_vars) != context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'removed_most'), _loop_vars=_loop_vars)):
                pass
                yield ' on average ('
                yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'removed_least'), _loop_vars=_loop_vars))
                yield ' to '
                yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'removed_most'), _loop_vars=_loop_vars))
                yield ')'
            yield '. Spindle <strong>'
            yield escape(t_2(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'speed')))
            yield ' rpm</strong>. Feed <strong>'
            yield escape(environment.getattr(l_1_face, 'feed'))
            yield '</strong>, '
            yield escape(environment.getattr(l_1_face, 'feed_limit'))
            yield '.</p>\n<div class="two">\n<div>\n'
            yield escape(context.call((undefined(name='picture') if l_0_picture is missing else l_0_picture), environment.getattr(l_1_face, 'plan'), (('Plan of the ' + environment.getattr(l_1_face, 'face')) + ' face'), environment.getattr(l_1_face, 'plan_words'), 'Next part', _loop_vars=_loop_vars))
            yield '\n'
            yield escape(context.call((undefined(name='stepper') if l_0_stepper is missing else l_0_stepper), l_1_face, _loop_vars=_loop_vars))
            yield '\n</div>\n<div>\n'
            if (environment.getattr(l_1_face, 'turned') and (not environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'again'))):
                pass
                yield escape(context.call((undefined(name='turn') if l_0_turn is missing else l_0_turn), l_1_face, _loop_vars=_loop_vars))
                yield '\n</div></div>\n'
                yield escape(context.call((undefined(name='zero') if l_0_zero is missing else l_0_zero), l_1_face, _loop_vars=_loop_vars))
                yield '\n'
            else:
                pass
                yield escape(context.call((undefined(name='zero') if l_0_zero is missing else l_0_zero), l_1_face, _loop_vars=_loop_vars))
                yield '\n</div></div>\n'
            yield '\n<h3>Cut</h3>\n<div class="caution"><p><b>Stay at the machine</b>, a hand at the stop. Hands and clothing away from the cutter. Stop at any change of sound.</p>\n'
            if environment.getattr(l_1_face, 'skipped'):
                pass
                yield '<p><b>Block delete is off</b> unless you measured the face as it lies. The lines marked <code>/</code> are '
                if (environment.getattr(environment.getattr(l_1_face, 'skipped'), 'passes') == 1):
                    pass
                    yield 'pass 1, which cuts'
                else:
                    pass
                    yield 'passes 1 to '
                    yield escape(environment.getattr(environment.getattr(l_1_face, 'skipped'), 'passes'))
                    yield ', which cut'
                yield ' only air by the forecast ('
                yield escape(context.call((undefined(name='duration') if l_1_duration is missing else l_1_duration), t_9(environment, environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'passes')[:environment.getattr(environment.getattr(l_1_face, 'skipped'), 'passes')], 'time'), _loop_vars=_loop_vars))
                yield '). Touch the highest place of the face in the same way as the zero: the switch may be on only if <strong>Z shows at most '
                yield escape(environment.getattr(l_1_face, 'highest_z'))
                yield '</strong> there ('
                yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(environment.getattr(l_1_face, 'skipped'), 'height'), _loop_vars=_loop_vars))
                yield ' above '
                yield escape(("the board's top" if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed') else 'the bed'))
                yield ' as planned).</p>\n'
            yield '</div>\n<ol class="steps">\n'
            if (not environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed')):
                pass
                def macro():
                    t_65 = []
                    pass
                    t_65.append(
                        'Scribble over the whole face in pencil.',
                    )
                    return concat(t_65)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-pencil', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_66 = []
                pass
                t_66.extend((
                    'Load <strong>',
                    escape(environment.getattr(l_1_face, 'face')),
                    '.nc</strong>: its header must show sources <code>',
                    escape((undefined(name='hash') if l_0_hash is missing else l_0_hash)),
                    "</code>. Run it once in the air above the work, as the machine's manual says: ",
                ))
                if environment.getattr(l_1_face, 'holders'):
                    pass
                    t_66.append(
                        'the cutter clears every holder',
                    )
                else:
                    pass
                    t_66.append(
                        'nothing is in its way',
                    )
                t_66.append(
                    '.',
                )
                return concat(t_66)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-air', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_67 = []
                pass
                t_67.extend((
                    'Cut: ',
                    escape(t_4(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'passes'))),
                    ' pass',
                    escape(('es' if (t_4(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'passes')) != 1) else cond_expr_undefined("the inline if-expression on line 324 in 'sheet.html.jinja' evaluated to false and no else section was defined."))),
                    ', about ',
                    escape(context.call((undefined(name='duration') if l_1_duration is missing else l_1_duration), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'time'))),
                    '.',
                ))
                if (environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'extraction') == 'by hand'):
                    pass
                    t_67.append(
                        ' The program stops once before the spindle starts: switch the dust extraction on, then continue.',
                    )
                return concat(t_67)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-cut', )), caller=caller, _loop_vars=_loop_vars)
            if environment.getattr(l_1_face, 'measure'):
                pass
                def macro():
                    t_68 = []
                    pass
                    t_68.extend((
                        'The spindle has stopped and is isolated. Brush the chips away and look for pencil marks over the whole face. If any are left, write <code>after ',
                        escape(environment.getattr(l_1_face, 'face')),
                        ' { marks left }</code> into the job and build again.',
                    ))
                    return concat(t_68)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'key'), '-marks', )), caller=caller, _loop_vars=_loop_vars)
            yield '</ol>\n'
            yield escape(context.call((undefined(name='figures') if l_0_figures is missing else l_0_figures), l_1_face, _loop_vars=_loop_vars))
            yield '\n'
            yield escape(context.call((undefined(name='folds') if l_0_folds is missing else l_0_folds), l_1_face, _loop_vars=_loop_vars))
            yield '\n</section>\n'
        l_1_loop = l_1_face = l_1_setup = l_1_duration = missing
        yield '\n<section class="more" id="more">\n<h2>More</h2>\n'
        if environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'parts'):
            pass
            def macro():
                t_69 = []
                l_1_parts = resolve('parts')
                pass
                t_69.append(
                    '<div class="table" tabindex="0" role="group" aria-label="Parts of the plus or minus"><table><thead><tr><th>Source</th><th>Share of the sum</th><th class="n">At most</th></tr></thead><tbody>\n',
                )
                for l_2_part in (undefined(name='parts') if l_1_parts is missing else l_1_parts):
                    _loop_vars = {}
                    pass
                    t_69.extend((
                        '<tr><td>',
                        escape(environment.getattr(l_2_part, 'name')),
                        '</td><td class="bars"><svg class="bar" viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true"><rect class="room" x="0" y="0" width="100" height="10"/><rect class="used" x="',
                        escape(t_2(environment.getattr(l_2_part, 'start'), 2)),
                        '" y="0" width="',
                        escape(t_2(environment.getattr(l_2_part, 'wide'), 2)),
                        '" height="10"/></svg></td><td class="n">',
                        escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_2_part, 'value'), _loop_vars=_loop_vars)),
                        '</td></tr>\n',
                    ))
                l_2_part = missing
                t_69.extend((
                    '<tr><td><strong>Sum</strong></td><td class="bars"></td><td class="n"><strong>',
                    escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'plus_minus'))),
                    '</strong></td></tr></tbody></table></div>\n',
                ))
                if ((undefined(name='setups') if l_0_setups is missing else l_0_setups) and environment.getattr(environment.getitem((undefined(name='setups') if l_0_setups is missing else l_0_setups), 0), 'free_shape')):
                    pass
                    t_69.extend((
                        '<p>',
                        escape(environment.getattr(environment.getitem((undefined(name='setups') if l_0_setups is missing else l_0_setups), 0), 'free_shape')),
                        '</p>\n',
                    ))
                return concat(t_69)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'How sure the thickness is', caller=caller)
        if (undefined(name='setups') if l_0_setups is missing else l_0_setups):
            pass
            if (undefined(name='wood') if l_0_wood is missing else l_0_wood):
                pass
                def macro():
                    t_70 = []
                    pass
                    t_70.append(
                        '<svg class="bar" viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">',
                    )
                    for l_2_each in (undefined(name='wood') if l_0_wood is missing else l_0_wood):
                        _loop_vars = {}
                        pass
                        t_70.extend((
                            '<rect class="',
                            escape(environment.getattr(l_2_each, 'kind')),
                            '" x="',
                            escape(t_2(environment.getattr(l_2_each, 'start'), 2)),
                            '" y="0" width="',
                            escape(t_2(environment.getattr(l_2_each, 'wide'), 2)),
                            '" height="10"/>',
                        ))
                    l_2_each = missing
                    t_70.append(
                        '</svg>\n<p>',
                    )
                    l_2_loop = missing
                    for l_2_each, l_2_loop in LoopContext((undefined(name='wood') if l_0_wood is missing else l_0_wood), undefined):
                        _loop_vars = {}
                        pass
                        t_70.extend((
                            escape(environment.getattr(l_2_each, 'name')),
                            ' <strong>',
                            escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_2_each, 'value'), _loop_vars=_loop_vars)),
                            '</strong>',
                            escape((', ' if (not environment.getattr(l_2_loop, 'last')) else '.')),
                        ))
                    l_2_loop = l_2_each = missing
                    t_70.append(
                        ' These are averages over the face.</p>\n',
                    )
                    return concat(t_70)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Where the wood goes', caller=caller)
            def macro():
                t_71 = []
                l_1_panel_bars = resolve('panel_bars')
                pass
                if (undefined(name='panel_bars') if l_1_panel_bars is missing else l_1_panel_bars):
                    pass
                    t_71.extend((
                        '<h3>The panel</h3>\n',
                        escape(context.call((undefined(name='limits') if l_0_limits is missing else l_0_limits), (undefined(name='panel_bars') if l_1_panel_bars is missing else l_1_panel_bars))),
                        '\n',
                    ))
                for l_2_face in (undefined(name='setups') if l_0_setups is missing else l_0_setups):
                    _loop_vars = {}
                    pass
                    t_71.extend((
                        '<h3>The ',
                        escape(environment.getattr(l_2_face, 'face')),
                        ' face</h3>\n',
                        escape(context.call((undefined(name='limits') if l_0_limits is missing else l_0_limits), environment.getattr(l_2_face, 'bars'), _loop_vars=_loop_vars)),
                        '\n',
                    ))
                l_2_face = missing
                t_71.extend((
                    '<p class="soft">',
                    escape(('Power is an estimate' if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed') else 'Power, holding and sag are estimates')),
                    '.</p>\n',
                ))
                return concat(t_71)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Limits', caller=caller)
        if (undefined(name='seatings') if l_0_seatings is missing else l_0_seatings):
            pass
            def macro():
                t_72 = []
                pass
                t_72.append(
                    '<div class="table" tabindex="0" role="group" aria-label="More leaves or fewer"><table class="cards three"><thead><tr><th>Choice</th><th class="n">Leaves</th><th class="n">Most that can be left</th><th>Pressed at the corners and edges</th></tr></thead><tbody>\n',
                )
                for l_2_each in (undefined(name='seatings') if l_0_seatings is missing else l_0_seatings):
                    _loop_vars = {}
                    pass
                    t_72.append(
                        '<tr',
                    )
                    if environment.getattr(l_2_each, 'chosen'):
                        pass
                        t_72.append(
                            ' class="chosen"',
                        )
                    t_72.extend((
                        '><td class="key">',
                        escape(environment.getattr(l_2_each, 'stacks')),
                        ' stack',
                        escape(('s' if (environment.getattr(l_2_each, 'stacks') != '1') else cond_expr_undefined("the inline if-expression on line 368 in 'sheet.html.jinja' evaluated to false and no else section was defined."))),
                    ))
                    if environment.getattr(l_2_each, 'chosen'):
                        pass
                        t_72.append(
                            ' (as planned)',
                        )
                    t_72.extend((
                        '</td><td class="n" data-of="Leaves">',
                        escape(environment.getattr(l_2_each, 'leaves')),
                        '</td><td class="n" data-of="Most left">',
                        escape(environment.getattr(l_2_each, 'most')),
                        '</td><td data-of="Pressed">',
                        escape(environment.getattr(l_2_each, 'rocks')),
                        '</td></tr>\n',
                    ))
                l_2_each = missing
                t_72.append(
                    '</tbody></table></div>\n',
                )
                return concat(t_72)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'More leaves or fewer', caller=caller)
        if (undefined(name='as_planned') if l_0_as_planned is missing else l_0_as_planned):
            pass
            def macro():
                t_73 = []
                l_1_others = resolve('others')
                pass
                t_73.extend((
                    '<p>',
                    escape((undefined(name='as_planned') if l_0_as_planned is missing else l_0_as_planned)),
                    '</p>\n',
                ))
                if (undefined(name='others') if l_1_others is missing else l_1_others):
                    pass
                    t_73.append(
                        '<div class="table" tabindex="0" role="group" aria-label="Other choices"><table class="cards"><thead><tr><th>Line to write</th><th class="n">Saves</th><th>What changes</th></tr></thead><tbody>\n',
                    )
                    for l_2_each in (undefined(name='others') if l_1_others is missing else l_1_others):
                        _loop_vars = {}
                        pass
                        t_73.extend((
                            '<tr><td class="key"><code>',
                            escape(environment.getattr(l_2_each, 'line')),
                            '</code></td><td class="n" data-of="Saves">',
                            escape(environment.getattr(l_2_each, 'saves')),
                            '</td><td data-of="What changes">',
                            escape(environment.getattr(l_2_each, 'changes')),
                            '</td></tr>\n',
                        ))
                    l_2_each = missing
                    t_73.append(
                        '</tbody></table></div>\n<p class="soft">Each line goes into the job\'s <code>cut</code> block in place of the present one, and is allowed by itself. Savings do not add up.</p>\n',
                    )
                elif (undefined(name='programs') if l_0_programs is missing else l_0_programs):
                    pass
                    t_73.append(
                        '<p class="soft">No line of the job\'s <code>cut</code> block for depth, stepover, finish, rows or rough costs more than 5 % of this time.</p>\n',
                    )
                return concat(t_73)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Cost of other choices', caller=caller)
        if (undefined(name='proofs') if l_0_proofs is missing else l_0_proofs):
            pass
            def macro():
                t_74 = []
                pass
                t_74.append(
                    '<div class="table" tabindex="0" role="group" aria-label="Proof"><table class="cards three"><thead><tr><th>Face</th><th class="n">Moves</th><th class="n">Deepest bite</th><th class="n">Collisions</th><th class="n">Wood left above plane</th><th class="n">Flat within</th></tr></thead><tbody>\n',
                )
                for (l_2_face, l_2_proof) in (undefined(name='proofs') if l_0_proofs is missing else l_0_proofs):
                    _loop_vars = {}
                    pass
                    t_74.extend((
                        '<tr><td class="key">',
                        escape(l_2_face),
                        '</td><td class="n" data-of="Moves">',
                        escape(environment.getattr(l_2_proof, 'program_moves')),
                        '</td><td class="n" data-of="Deepest bite">',
                        escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_2_proof, 'deepest_bite'), _loop_vars=_loop_vars)),
                        '</td><td class="n" data-of="Collisions">',
                        escape(environment.getattr(l_2_proof, 'collisions')),
                        '</td><td class="n" data-of="Wood left above plane">',
                        escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_2_proof, 'left_above_plane'), _loop_vars=_loop_vars)),
                        '</td><td class="n" data-of="Flat within">',
                        escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_2_proof, 'flatness'), _loop_vars=_loop_vars)),
                        '</td></tr>\n',
                    ))
                l_2_face = l_2_proof = missing
                t_74.append(
                    '</tbody></table></div>\n<p class="soft">The proof is for ',
                )
                if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed'):
                    pass
                    t_74.append(
                        'a bare board',
                    )
                else:
                    pass
                    t_74.append(
                        'the panel as surveyed and held as drawn',
                    )
                t_74.append(
                    ', with the zero set as above. It does not cover load, break-out or a worn cutter.</p>\n',
                )
                return concat(t_74)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='fold') if l_0_fold is missing else l_0_fold), 'Proven by cutting the programs in memory', caller=caller)
        yield escape(context.call((undefined(name='remarks') if l_0_remarks is missing else l_0_remarks), environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'notes')))
        yield '\n</section>\n</main>\n'
    else:
        pass
        yield '<main><h1>'
        yield escape((undefined(name='title') if l_0_title is missing else l_0_title))
        yield '</h1><p>There is no sheet yet. It comes as soon as the job has no errors.</p>'
        yield escape(context.call((undefined(name='ticks') if l_0_ticks is missing else l_0_ticks)))
        yield '</main>'
    yield '<script>'
    yield escape((undefined(name='script') if l_0_script is missing else l_0_script))
    yield '</script>\n</body>\n</html>'

blocks = {}
debug_info = '1=97&3=114&4=143&5=152&7=158&8=166&9=181&11=192&12=200&14=230&15=247&16=249&17=255&18=263&19=268&22=288&23=312&24=320&25=325&27=350&28=359&31=365&33=372&34=377&36=385&37=388&38=391&43=399&44=414&45=435&46=455&50=461&52=482&53=484&55=495&56=518&58=539&60=547&62=552&66=583&68=595&69=617&70=651&71=654&72=656&73=693&74=695&76=714&77=740&79=765&70=774&82=778&84=791&85=798&86=802&87=808&89=874&90=879&91=887&92=892&94=911&99=938&100=945&102=954&103=956&105=979&107=988&109=1000&110=1009&111=1015&110=1033&115=1034&116=1036&117=1042&118=1051&116=1069&122=1073&123=1084&125=1087&126=1092&129=1105&130=1106&132=1111&139=1128&140=1130&142=1139&143=1148&145=1160&147=1165&152=1185&153=1210&154=1214&156=1220&158=1230&161=1234&163=1240&165=1244&167=1246&168=1251&170=1254&171=1256&172=1266&175=1268&176=1289&179=1291&180=1295&182=1297&185=1301&187=1303&188=1312&189=1321&190=1343&194=1354&195=1358&198=1376&199=1380&200=1388&201=1394&203=1397&204=1442&205=1451&208=1461&209=1465&212=1480&213=1482&216=1487&222=1505&223=1514&224=1527&225=1560&229=1571&230=1574&233=1587&234=1591&235=1594&236=1596&237=1600&239=1622&240=1628&242=1636&243=1640&244=1642&245=1652&246=1658&247=1662&248=1664&249=1676&254=1682&256=1684&258=1687&259=1689&261=1707&262=1710&264=1713&265=1726&269=1728&270=1740&273=1742&274=1746&275=1748&276=1750&280=1753&281=1764&283=1774&284=1776&286=1780&287=1783&292=1788&293=1793&294=1796&295=1804&296=1817&297=1819&300=1835&301=1837&304=1839&305=1841&307=1843&309=1847&315=1850&316=1853&320=1871&321=1873&323=1882&324=1908&325=1928&326=1930&329=1942&330=1944&336=1948&337=1950&339=1957&340=1974&341=1977&342=1981&337=1986&346=1987&347=1989&348=1991&349=1997&350=2014&348=2030&353=2031&354=2035&356=2039&358=2042&359=2047&360=2049&362=2055&353=2060&365=2061&366=2063&368=2069&366=2106&372=2107&373=2109&374=2115&375=2118&377=2123&380=2139&373=2146&385=2147&386=2149&388=2155&389=2160&391=2177&386=2192&394=2193&397=2198&398=2203'
