"""Made by `python -m flatwise.report.make_template` from `sheet.html.jinja`.  Do not edit."""

# ruff: noqa
# fmt: off
# mypy: ignore-errors

JINJA = '3.1.6'
SHA256 = 'dd2ae7dce0022a9a04578423ba9c4f42d9637eb735a167a1464a5fdffbd001dc'

from jinja2.runtime import LoopContext, Macro, Markup, Namespace, TemplateNotFound, TemplateReference, TemplateRuntimeError, Undefined, escape, identity, internalcode, markup_join, missing, str_join
name = 'sheet.html.jinja'

def root(context, missing=missing):
    resolve = context.resolve_or_missing
    undefined = environment.undefined
    concat = environment.concat
    cond_expr_undefined = Undefined
    if 0: yield None
    l_0_script_hash = resolve('script_hash')
    l_0_work = resolve('work')
    l_0_style = resolve('style')
    l_0_spaced = resolve('spaced')
    l_0_job = resolve('job')
    l_0_plan = resolve('plan')
    l_0_unit = resolve('unit')
    l_0_setups = resolve('setups')
    l_0_programs = resolve('programs')
    l_0_total = resolve('total')
    l_0_hash = resolve('hash')
    l_0_version = resolve('version')
    l_0_waived = resolve('waived')
    l_0_fetch = resolve('fetch')
    l_0_parts = resolve('parts')
    l_0_wood = resolve('wood')
    l_0_panel_bars = resolve('panel_bars')
    l_0_seatings = resolve('seatings')
    l_0_others = resolve('others')
    l_0_proofs = resolve('proofs')
    l_0_warnings = resolve('warnings')
    l_0_notes = resolve('notes')
    l_0_script = resolve('script')
    l_0_step = l_0_bar = l_0_limits = l_0_picture = missing
    try:
        t_1 = environment.filters['capitalize']
    except KeyError:
        @internalcode
        def t_1(*unused):
            raise TemplateRuntimeError("No filter named 'capitalize' found.")
    try:
        t_2 = environment.filters['format']
    except KeyError:
        @internalcode
        def t_2(*unused):
            raise TemplateRuntimeError("No filter named 'format' found.")
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
        t_5 = environment.filters['min']
    except KeyError:
        @internalcode
        def t_5(*unused):
            raise TemplateRuntimeError("No filter named 'min' found.")
    try:
        t_6 = environment.filters['upper']
    except KeyError:
        @internalcode
        def t_6(*unused):
            raise TemplateRuntimeError("No filter named 'upper' found.")
    try:
        t_7 = environment.tests['none']
    except KeyError:
        @internalcode
        def t_7(*unused):
            raise TemplateRuntimeError("No test named 'none' found.")
    pass
    def macro(l_1_id, l_1_caller):
        t_8 = []
        if l_1_id is missing:
            l_1_id = undefined("parameter 'id' was not provided", name='id')
        pass
        t_8.extend((
            '<li><label><input type="checkbox" id="',
            escape(l_1_id),
            '"><span>',
            escape(context.call(l_1_caller)),
            '</span></label></li>\n',
        ))
        return concat(t_8)
    context.exported_vars.add('step')
    context.vars['step'] = l_0_step = Macro(environment, macro, 'step', ('id',), False, False, True, context.eval_ctx.autoescape)
    def macro(l_1_each):
        t_9 = []
        if l_1_each is missing:
            l_1_each = undefined("parameter 'each' was not provided", name='each')
        pass
        t_9.append(
            '<svg class="bar" viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">',
        )
        if environment.getattr(l_1_each, 'low'):
            pass
            t_9.extend((
                '<rect class="room" x="0" y="0" width="100" height="10"/><rect class="used" x="',
                escape(t_2('%.2f', (100 * environment.getattr(l_1_each, 'low')))),
                '" y="0" width="',
                escape(t_2('%.2f', (100 * (1 - environment.getattr(l_1_each, 'low'))))),
                '" height="10" opacity=".35"/><path class="at" d="M',
                escape(t_2('%.2f', t_5(environment, [(100 * environment.getattr(l_1_each, 'share')), 104]))),
                ' -2V12"/>',
            ))
        else:
            pass
            t_9.extend((
                '<rect class="room" x="0" y="0" width="100" height="10"/><rect class="',
                escape(('over' if (environment.getattr(l_1_each, 'share') > 1.000001) else 'used')),
                '" x="0" y="0" width="',
                escape(t_2('%.2f', t_5(environment, [(100 * environment.getattr(l_1_each, 'share')), 104]))),
                '" height="10"/>',
            ))
        t_9.append(
            '</svg>',
        )
        return concat(t_9)
    context.exported_vars.add('bar')
    context.vars['bar'] = l_0_bar = Macro(environment, macro, 'bar', ('each',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_rows):
        t_10 = []
        if l_1_rows is missing:
            l_1_rows = undefined("parameter 'rows' was not provided", name='rows')
        pass
        t_10.append(
            '<div class="table" tabindex="0" role="group" aria-label="Limits"><table class="limits"><thead><tr><th>Figure</th><th class="n">Used</th><th>Share</th><th class="n">Limit</th></tr></thead><tbody>\n',
        )
        for l_2_each in l_1_rows:
            _loop_vars = {}
            pass
            t_10.extend((
                '<tr><td>',
                escape(environment.getattr(l_2_each, 'name')),
            ))
            if environment.getattr(l_2_each, 'note'):
                pass
                t_10.extend((
                    '<br><span class="soft">',
                    escape(environment.getattr(l_2_each, 'note')),
                    '</span>',
                ))
            t_10.extend((
                '</td><td class="n">',
                escape(environment.getattr(l_2_each, 'used')),
                '</td><td class="bars">',
                escape(context.call((undefined(name='bar') if l_0_bar is missing else l_0_bar), l_2_each, _loop_vars=_loop_vars)),
                '</td><td class="n">',
                escape(environment.getattr(l_2_each, 'limit')),
                '</td></tr>\n',
            ))
        l_2_each = missing
        t_10.append(
            '</tbody></table></div>',
        )
        return concat(t_10)
    context.exported_vars.add('limits')
    context.vars['limits'] = l_0_limits = Macro(environment, macro, 'limits', ('rows',), False, False, False, context.eval_ctx.autoescape)
    def macro(l_1_svg, l_1_title, l_1_words, l_1_next):
        t_11 = []
        if l_1_svg is missing:
            l_1_svg = undefined("parameter 'svg' was not provided", name='svg')
        if l_1_title is missing:
            l_1_title = undefined("parameter 'title' was not provided", name='title')
        if l_1_words is missing:
            l_1_words = ''
        if l_1_next is missing:
            l_1_next = ''
        pass
        t_11.extend((
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
        return concat(t_11)
    context.exported_vars.add('picture')
    context.vars['picture'] = l_0_picture = Macro(environment, macro, 'picture', ('svg', 'title', 'words', 'next'), False, False, False, context.eval_ctx.autoescape)
    yield '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'; script-src \'sha256-'
    yield escape((undefined(name='script_hash') if l_0_script_hash is missing else l_0_script_hash))
    yield '\'">\n<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>'
    yield escape(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'name'))
    yield ': sheet for the machine</title>\n<style>\n'
    yield escape((undefined(name='style') if l_0_style is missing else l_0_style))
    yield '</style>\n</head>\n<body>\n<header>\n<h1>'
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
    yield escape(t_6(environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'grain')))
    yield ', on '
    yield escape(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'machine'))
    yield '.</p>\n<dl class="facts">\n'
    if (not t_7(environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'target'))):
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
    yield '</dd></div>\n<div><dt>Programs</dt><dd>'
    if (undefined(name='programs') if l_0_programs is missing else l_0_programs):
        pass
        yield escape(t_3(context.eval_ctx, (undefined(name='programs') if l_0_programs is missing else l_0_programs), ', '))
    else:
        pass
        yield 'None. Nothing is left to cut.'
    yield '</dd></div>\n'
    if (undefined(name='programs') if l_0_programs is missing else l_0_programs):
        pass
        yield '<div><dt>Machine time (estimate)</dt><dd>'
        yield escape((undefined(name='total') if l_0_total is missing else l_0_total))
        yield '</dd></div>\n'
    yield '<div><dt>Sources</dt><dd><code>'
    yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
    yield '</code><span>'
    yield escape(environment.getitem(environment.getitem(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'sources'), 0), 0))
    yield ', flatwise '
    yield escape((undefined(name='version') if l_0_version is missing else l_0_version))
    yield '. A program with another number in its header belongs to another sheet.</span></dd></div>\n</dl>\n</header>\n<nav aria-label="Parts of the sheet">\n<a href="#before">Before</a>'
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
        yield '<a href="#sure">Uncertainty and limits</a>'
    yield '\n<span class="ticks live-only"><span id="ticked" role="status"></span><button type="button" id="clear">Clear all ticks</button></span>\n</nav>\n<main>\n'
    if (undefined(name='waived') if l_0_waived is missing else l_0_waived):
        pass
        yield '<section class="caution" aria-label="Waived rules"><h3>Waived rules: this job breaks rules of the shop</h3>\n<div class="table" tabindex="0" role="group" aria-label="Waived rules"><table class="cards"><thead><tr><th>Rule</th><th class="n">Found</th><th class="n">Limit</th><th>Reason</th></tr></thead><tbody>\n'
        for (l_1_rule, l_1_found, l_1_limit, l_1_because) in (undefined(name='waived') if l_0_waived is missing else l_0_waived):
            _loop_vars = {}
            pass
            yield '<tr><td class="key">'
            yield escape(l_1_rule)
            yield '</td><td class="n" data-of="Found">'
            yield escape(l_1_found)
            yield '</td><td class="n" data-of="Limit">'
            yield escape(l_1_limit)
            yield '</td><td data-of="Reason">'
            yield escape(l_1_because)
            yield '</td></tr>\n'
        l_1_rule = l_1_found = l_1_limit = l_1_because = missing
        yield '</tbody></table></div></section>\n'
    yield '\n<section id="before" data-key="flatwise/'
    yield escape(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'name'))
    yield '/before/'
    yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
    yield '">\n<h2>Before you start</h2>\n<div class="caution"><p>The manuals of the machine and the cutter, local safety rules and trained supervision come before this sheet.</p></div>\n<ol class="steps">\n'
    def macro():
        t_12 = []
        pass
        t_12.append(
            'Safety glasses and hearing protection on; dust extraction ready; a mask for fine dust.',
        )
        return concat(t_12)
    caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
    yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'before-wear', caller=caller)
    def macro():
        t_13 = []
        pass
        t_13.append(
            'Sleeves, hair and cords tied back; rings off. <strong>No gloves near a turning cutter.</strong>',
        )
        return concat(t_13)
    caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
    yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'before-hands', caller=caller)
    def macro():
        t_14 = []
        pass
        t_14.append(
            'The emergency stop is within reach and works. Never leave the machine while it runs.',
        )
        return concat(t_14)
    caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
    yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), 'before-stop', caller=caller)
    yield '</ol>\n'
    if (undefined(name='setups') if l_0_setups is missing else l_0_setups):
        pass
        yield '<h3>What you need</h3>\n<ol class="steps">\n'
        l_1_loop = missing
        for (l_1_what, l_1_which), l_1_loop in LoopContext((undefined(name='fetch') if l_0_fetch is missing else l_0_fetch), undefined):
            _loop_vars = {}
            pass
            def macro():
                t_15 = []
                pass
                t_15.extend((
                    '<strong>',
                    escape(l_1_what),
                    ':</strong> ',
                    escape(l_1_which),
                ))
                return concat(t_15)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), ('fetch-%d' % environment.getattr(l_1_loop, 'index')), caller=caller, _loop_vars=_loop_vars)
        l_1_loop = l_1_what = l_1_which = missing
        yield '</ol>\n'
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
        yield '.nc</h2>\n<dl class="facts">\n<div><dt>Removed</dt><dd>'
        yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'removed_mean'), _loop_vars=_loop_vars))
        if (context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'removed_least'), _loop_vars=_loop_vars) != context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'removed_most'), _loop_vars=_loop_vars)):
            pass
            yield '<span>on average, '
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'removed_least'), _loop_vars=_loop_vars))
            yield ' to '
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'removed_most'), _loop_vars=_loop_vars))
            yield '</span>'
        yield '</dd></div>\n<div><dt>Passes</dt><dd>'
        yield escape(t_4(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'passes')))
        yield '<span>about '
        yield escape(context.call((undefined(name='duration') if l_1_duration is missing else l_1_duration), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'time'), _loop_vars=_loop_vars))
        yield '</span></dd></div>\n<div><dt>Spindle</dt><dd>'
        yield escape(t_2('%.0f', environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'speed')))
        yield ' rpm</dd></div>\n<div><dt>Feed</dt><dd>'
        yield escape(environment.getattr(l_1_face, 'feed'))
        yield '<span>'
        yield escape(environment.getattr(l_1_face, 'feed_limit'))
        yield '</span></dd></div>\n<div><dt>Work offset</dt><dd>'
        yield escape(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'offset'))
        yield '</dd></div>\n</dl>\n'
        if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed'):
            pass
            yield "<p>This program skims the machine's own board. Height 0 is the top of the board before the cut; negative heights lie in the board.</p>\n"
        yield '\n'
        yield escape(context.call((undefined(name='picture') if l_0_picture is missing else l_0_picture), environment.getattr(l_1_face, 'plan'), (('Plan of the ' + environment.getattr(l_1_face, 'face')) + ' face'), environment.getattr(l_1_face, 'plan_words'), 'Next part', _loop_vars=_loop_vars))
        yield '\n'
        if environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'passes'):
            pass
            yield '<div class="control live-only"><button type="button" aria-label="Previous pass">◀</button><input type="range" min="0" max="'
            yield escape(t_4(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'passes')))
            yield '" value="0" aria-label="Pass that the pictures show; 0 shows the set-up"><button type="button" aria-label="Next pass">▶</button></div>\n<output class="say live-only" aria-label="Pass shown"></output>\n'
        yield '\n'
        if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed'):
            pass
            yield '<h3>Clear the board</h3>\n<ol class="steps">\n'
            def macro():
                t_16 = []
                pass
                t_16.append(
                    'Nothing is on the board: no clamp, no dog, no leaf.',
                )
                return concat(t_16)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-bare', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_17 = []
                pass
                t_17.extend((
                    'Every screw and pin in it is deeper than the lowest pass, <strong>',
                    escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), (-environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'plane')))),
                    '</strong> below the top.',
                ))
                return concat(t_17)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-screws', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_18 = []
                pass
                t_18.append(
                    'The board is fixed to the bed and brushed clean.',
                )
                return concat(t_18)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-brush', )), caller=caller, _loop_vars=_loop_vars)
            yield '</ol>\n'
        else:
            pass
            yield '<h3>'
            if (environment.getattr(l_1_face, 'turned') and (not environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'again'))):
                pass
                yield 'Turn the panel'
            else:
                pass
                yield 'Lay the panel'
            yield '</h3>\n'
            if (environment.getattr(l_1_face, 'turned') and (not environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'again'))):
                pass
                yield '<p>The dogs and the X Y zero stay as they are. All leaves come out. The panel now lies on the face that was cut.</p>\n'
            yield '<ol class="steps">\n'
            if environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'again'):
                pass
                def macro():
                    t_19 = []
                    pass
                    t_19.append(
                        'The panel lies as it did when this face was cut. If it was moved, brush the panel and the bed clean and put it back.',
                    )
                    return concat(t_19)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-again', )), caller=caller, _loop_vars=_loop_vars)
            elif environment.getattr(l_1_face, 'turned'):
                pass
                def macro():
                    t_20 = []
                    pass
                    if environment.getattr(l_1_face, 'clamps'):
                        pass
                        t_20.append(
                            'Take the clamps off and lift',
                        )
                    else:
                        pass
                        t_20.append(
                            'Lift',
                        )
                    t_20.append(
                        ' the panel out. Take all leaves out. Brush the bed and the panel clean.',
                    )
                    return concat(t_20)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-out', )), caller=caller, _loop_vars=_loop_vars)
                def macro():
                    t_21 = []
                    pass
                    t_21.extend((
                        '<strong>Turn the panel over its ',
                        escape(environment.getattr(l_1_face, 'turn')),
                        ' edge</strong> (the ',
                        escape(environment.getattr(l_1_face, 'turn_axis')),
                        ').',
                    ))
                    return concat(t_21)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-turn', )), caller=caller, _loop_vars=_loop_vars)
            else:
                pass
                def macro():
                    t_22 = []
                    pass
                    t_22.append(
                        'Write its name on each edge of the panel in pencil (front, back, left, right): you need them when you turn it.',
                    )
                    return concat(t_22)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-mark', )), caller=caller, _loop_vars=_loop_vars)
                def macro():
                    t_23 = []
                    l_2_corner = resolve('corner')
                    pass
                    t_23.extend((
                        "The panel's ",
                        escape((undefined(name='corner') if l_2_corner is missing else l_2_corner)),
                        ' corner goes to machine X ',
                        escape(environment.getitem(environment.getattr(l_1_face, 'origin'), 0)),
                        ', Y ',
                        escape(environment.getitem(environment.getattr(l_1_face, 'origin'), 1)),
                        '. With the spindle stopped, move its centre there and mark the bed.',
                    ))
                    return concat(t_23)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-place', )), caller=caller, _loop_vars=_loop_vars)
                def macro():
                    t_24 = []
                    pass
                    t_24.append(
                        'Brush the bed and the panel clean.',
                    )
                    return concat(t_24)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-brush', )), caller=caller, _loop_vars=_loop_vars)
            if (environment.getattr(l_1_face, 'dogs') and (not environment.getattr(l_1_face, 'turned'))):
                pass
                def macro():
                    t_25 = []
                    pass
                    t_25.extend((
                        'Put the dogs in their places: ',
                        escape(environment.getattr(l_1_face, 'dogs')),
                        ' in the plan and the table below.',
                    ))
                    return concat(t_25)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-dogs', )), caller=caller, _loop_vars=_loop_vars)
            if environment.getattr(l_1_face, 'leaves'):
                pass
                def macro():
                    t_26 = []
                    pass
                    t_26.append(
                        "Lay the leaves flat on the bed as the plan and the table show, flush with the panel's outline.",
                    )
                    return concat(t_26)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-leaves', )), caller=caller, _loop_vars=_loop_vars)
            if (not environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'again')):
                pass
                def macro():
                    t_27 = []
                    pass
                    t_27.append(
                        'Lay the panel down',
                    )
                    if environment.getattr(l_1_face, 'dogs'):
                        pass
                        t_27.extend((
                            ' against all dogs (',
                            escape(environment.getattr(l_1_face, 'dogs')),
                            ')',
                        ))
                    t_27.append(
                        ', ',
                    )
                    if (not environment.getattr(l_1_face, 'turned')):
                        pass
                        t_27.append(
                            'face up, its front edge toward you',
                        )
                    else:
                        pass
                        t_27.extend((
                            '<strong>its ',
                            escape(environment.getattr(l_1_face, 'front')),
                            ' edge now toward you</strong>',
                        ))
                    t_27.append(
                        '.',
                    )
                    return concat(t_27)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-lay', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_28 = []
                pass
                t_28.append(
                    'Press on each corner: the panel must not rock.',
                )
                return concat(t_28)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-rock', )), caller=caller, _loop_vars=_loop_vars)
            yield '</ol>\n'
            if (environment.getattr(l_1_face, 'turned') and (not environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'again'))):
                pass
                yield '<div class="table" tabindex="0" role="group" aria-label="Edges after turning"><table><thead><tr><th>Edge of the bed</th><th>Edge of the panel there now</th></tr></thead><tbody>\n'
                for (l_2_bed, l_2_own) in environment.getattr(l_1_face, 'edges'):
                    _loop_vars = {}
                    pass
                    yield '<tr><td>'
                    yield escape(l_2_bed)
                    yield '</td><td>'
                    if (l_2_own == l_2_bed):
                        pass
                        yield escape(l_2_own)
                        yield ', as before'
                    else:
                        pass
                        yield '<strong>'
                        yield escape(l_2_own)
                        yield '</strong>'
                    yield '</td></tr>\n'
                l_2_bed = l_2_own = missing
                yield '</tbody></table></div>\n'
            if environment.getattr(l_1_face, 'leaves'):
                pass
                yield '<div class="table" tabindex="0" role="group" aria-label="Leaves"><table><thead><tr><th>No.</th><th>Under</th><th>Leaves</th><th class="n">Height</th><th class="n">Gap left</th></tr></thead><tbody>\n'
                for l_2_each in environment.getattr(l_1_face, 'leaves'):
                    _loop_vars = {}
                    pass
                    yield '<tr><td class="key">'
                    yield escape(environment.getattr(l_2_each, 'number'))
                    yield '</td><td>'
                    yield escape(environment.getattr(l_2_each, 'place'))
                    yield '</td><td>'
                    yield escape(environment.getattr(l_2_each, 'stack'))
                    yield '</td><td class="n">'
                    yield escape(environment.getattr(l_2_each, 'height'))
                    yield '</td><td class="n">'
                    yield escape(environment.getattr(l_2_each, 'gap'))
                    yield '</td></tr>\n'
                l_2_each = missing
                yield '</tbody></table></div>\n'
            if environment.getattr(l_1_face, 'free_shape'):
                pass
                yield '<p>'
                yield escape(environment.getattr(l_1_face, 'free_shape'))
                yield '</p>\n'
        yield '\n'
        if environment.getattr(l_1_face, 'holders'):
            pass
            yield '<h3>Hold the panel</h3>\n<div class="table" tabindex="0" role="group" aria-label="Holders"><table><thead><tr><th>Mark</th><th>Position of its middle</th><th>Holder</th></tr></thead><tbody>\n'
            for l_2_each in environment.getattr(l_1_face, 'holders'):
                _loop_vars = {}
                pass
                yield '<tr><td class="key">'
                yield escape(environment.getattr(l_2_each, 'letter'))
                yield '</td><td>'
                yield escape(environment.getattr(l_2_each, 'edge'))
                yield ' edge, <strong>'
                yield escape(environment.getattr(l_2_each, 'at'))
                yield '</strong> from the '
                yield escape(environment.getattr(l_2_each, 'corner'))
                yield ' corner</td><td>'
                yield escape(environment.getattr(l_2_each, 'what'))
                yield ', '
                yield escape(environment.getattr(l_2_each, 'height'))
                yield ' high</td></tr>\n'
            l_2_each = missing
            yield '</tbody></table></div>\n<ol class="steps">\n'
            if environment.getattr(l_1_face, 'dogs'):
                pass
                def macro():
                    t_29 = []
                    pass
                    t_29.extend((
                        'The panel touches all dogs: ',
                        escape(environment.getattr(l_1_face, 'dogs')),
                        '.',
                    ))
                    return concat(t_29)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-against', )), caller=caller, _loop_vars=_loop_vars)
            if environment.getattr(l_1_face, 'clamps'):
                pass
                def macro():
                    t_30 = []
                    pass
                    t_30.extend((
                        'Clamps on (',
                        escape(environment.getattr(l_1_face, 'clamps')),
                        '), pushing sideways only: a panel that is forced flat springs back.',
                    ))
                    return concat(t_30)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-clamps', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_31 = []
                pass
                t_31.append(
                    '<strong>Test every clamp by hand</strong>: the panel must not move or lift. The holding forces are estimates.',
                )
                return concat(t_31)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-held', )), caller=caller, _loop_vars=_loop_vars)
            yield '</ol>\n'
        yield '\n<h3>'
        if environment.getattr(l_1_loop, 'first'):
            pass
            yield 'Fit the cutter'
        else:
            pass
            yield 'Check the cutter'
        yield '</h3>\n<div class="caution"><p><b>Isolate the spindle</b> before you touch the cutter, as the machine\'s manual says.</p></div>\n<ol class="steps">\n'
        def macro():
            t_32 = []
            l_2_collet = resolve('collet')
            pass
            t_32.extend((
                escape(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'cutter'), 'name')),
                ' is sharp and undamaged, clean and tight in the right collet (',
                escape((undefined(name='collet') if l_2_collet is missing else l_2_collet)),
                '), ',
                escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'cutter'), 'stick_out'))),
                ' from the collet face to the cutting edge.',
            ))
            return concat(t_32)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-cutter', )), caller=caller, _loop_vars=_loop_vars)
        def macro():
            t_33 = []
            pass
            t_33.extend((
                escape(t_2('%.0f', environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'speed'))),
                ' rpm is within the speed marked on it (',
                escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'cutter'), 'speed'), 'least'))),
                ' to ',
                escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'cutter'), 'speed'), 'most'))),
                ').',
            ))
            return concat(t_33)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-speed', )), caller=caller, _loop_vars=_loop_vars)
        yield '</ol>\n\n<h3>Set the zero ('
        yield escape(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'offset'))
        yield ')</h3>\n<div class="caution"><p><b>The spindle must stand still</b> while you touch off or measure.</p></div>\n<ol class="steps">\n'
        def macro():
            t_34 = []
            l_2_corner = resolve('corner')
            pass
            if environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'again'):
                pass
                t_34.append(
                    'Keep X and Y: zero is',
                )
            elif environment.getattr(l_1_face, 'turned'):
                pass
                t_34.append(
                    'Keep X and Y from the first face: zero is',
                )
            else:
                pass
                t_34.append(
                    'Set X 0, Y 0',
                )
            t_34.extend((
                ' over the ',
                escape((undefined(name='corner') if l_2_corner is missing else l_2_corner)),
                ' corner of the ',
                escape(('board' if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed') else 'panel as it lies now')),
                ', at machine X ',
                escape(environment.getitem(environment.getattr(l_1_face, 'origin'), 0)),
                ', Y ',
                escape(environment.getitem(environment.getattr(l_1_face, 'origin'), 1)),
                '.',
            ))
            return concat(t_34)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-xy', )), caller=caller, _loop_vars=_loop_vars)
        if environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'zero_on_face'):
            pass
            def macro():
                t_35 = []
                pass
                if environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'kept'):
                    pass
                    t_35.append(
                        '<strong>Keep the Z that is still set.</strong> Only if the zero was lost, set it again on the cut face as follows.',
                    )
                else:
                    pass
                    t_35.append(
                        '<strong>Set Z anew on the cut face</strong>: with the zero of the cut before, the panel stayed too thick.',
                    )
                return concat(t_35)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-kept', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_36 = []
                pass
                t_36.append(
                    'On the cut face, where ',
                )
                if environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'kept'):
                    pass
                    t_36.append(
                        'no mark is left',
                    )
                else:
                    pass
                    t_36.append(
                        'you measured',
                    )
                t_36.append(
                    ', turn the cutter by hand and lower it until ',
                )
                if environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'paper'):
                    pass
                    t_36.extend((
                        'paper ',
                        escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'paper'))),
                        ' thick just drags',
                    ))
                else:
                    pass
                    t_36.append(
                        'a wing just touches',
                    )
                t_36.extend((
                    '. Set <strong>Z ',
                    escape(environment.getitem(environment.getattr(l_1_face, 'face_z'), 1)),
                    '</strong> there',
                ))
                if environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'paper'):
                    pass
                    t_36.extend((
                        '; the cut face itself is at Z ',
                        escape(environment.getitem(environment.getattr(l_1_face, 'face_z'), 0)),
                    ))
                t_36.append(
                    '.',
                )
                return concat(t_36)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-z', )), caller=caller, _loop_vars=_loop_vars)
        else:
            pass
            if ((environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'on') == 'bed') and environment.getattr(l_1_face, 'turned')):
                pass
                def macro():
                    t_37 = []
                    pass
                    t_37.append(
                        'Keep Z from the first face. Only if the zero was lost, set it again on the bare bed as follows.',
                    )
                    return concat(t_37)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-kept', )), caller=caller, _loop_vars=_loop_vars)
            if (environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'on') == 'top'):
                pass
                def macro():
                    t_38 = []
                    pass
                    t_38.extend((
                        'Move the centre of the cutter to <strong>X ',
                        escape(environment.getitem(environment.getattr(l_1_face, 'touch_at'), 0)),
                        ', Y ',
                        escape(environment.getitem(environment.getattr(l_1_face, 'touch_at'), 1)),
                        '</strong>, the dashed red ring in the plan: ',
                        escape(environment.getitem(environment.getattr(l_1_face, 'touch_from_edge'), 0)),
                        ' from the left end and ',
                        escape(environment.getitem(environment.getattr(l_1_face, 'touch_from_edge'), 1)),
                        ' from the front edge of the ',
                        escape(('board' if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed') else 'panel as it lies now')),
                        escape(environment.getattr(l_1_face, 'touch_edge')),
                        '.',
                    ))
                    return concat(t_38)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-over', )), caller=caller, _loop_vars=_loop_vars)
                if (not environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed')):
                    pass
                    def macro():
                        t_39 = []
                        pass
                        t_39.extend((
                            'Measure the height of the top there: it should be ',
                            escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'height'))),
                            ' above the bed. <strong>Stop if it differs by more than ',
                            escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'bound'))),
                            '</strong>: the panel does not match its survey.',
                        ))
                        return concat(t_39)
                    caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                    yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-height', )), caller=caller, _loop_vars=_loop_vars)
            else:
                pass
                def macro():
                    t_40 = []
                    pass
                    t_40.extend((
                        'Move the cutter over the bare bed beside the panel, to <strong>X ',
                        escape(environment.getitem(environment.getattr(l_1_face, 'touch_at'), 0)),
                        ', Y ',
                        escape(environment.getitem(environment.getattr(l_1_face, 'touch_at'), 1)),
                        '</strong>, the dashed red ring in the plan.',
                    ))
                    if (t_4((undefined(name='setups') if l_0_setups is missing else l_0_setups)) > 1):
                        pass
                        t_40.append(
                            ' The height holds for both faces.',
                        )
                    return concat(t_40)
                caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
                yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-over', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_41 = []
                pass
                if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed'):
                    pass
                    t_41.append(
                        'Lower the cutter while you turn it by hand, until a wing just ',
                    )
                    if environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'paper'):
                        pass
                        t_41.extend((
                            'drags on paper ',
                            escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'paper'))),
                            ' thick',
                        ))
                    else:
                        pass
                        t_41.append(
                            'touches',
                        )
                else:
                    pass
                    t_41.append(
                        'Turn the cutter by hand ',
                    )
                    if (environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'on') == 'top'):
                        pass
                        t_41.append(
                            'so that a wing is over the highest place under it',
                        )
                        if environment.getattr(l_1_face, 'map'):
                            pass
                            t_41.append(
                                ' (see the height map)',
                            )
                    else:
                        pass
                        t_41.append(
                            'until a wing is over the bed',
                        )
                    t_41.append(
                        '. Lower it until ',
                    )
                    if environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'paper'):
                        pass
                        t_41.extend((
                            'paper ',
                            escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'paper'))),
                            ' thick just drags',
                        ))
                    else:
                        pass
                        t_41.append(
                            'it just touches',
                        )
                t_41.append(
                    '. Set Z 0 there.',
                )
                return concat(t_41)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-z', )), caller=caller, _loop_vars=_loop_vars)
        if t_7(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'top')):
            pass
            def macro():
                t_42 = []
                pass
                t_42.extend((
                    '<strong>Jog up until Z is above ',
                    escape(environment.getattr(l_1_face, 'lift')),
                    '</strong> before you start the program.',
                ))
                return concat(t_42)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-jog', )), caller=caller, _loop_vars=_loop_vars)
        yield '</ol>\n'
        if environment.getattr(l_1_face, 'map'):
            pass
            yield escape(context.call((undefined(name='picture') if l_0_picture is missing else l_0_picture), environment.getattr(l_1_face, 'map'), (('Height map of the ' + environment.getattr(l_1_face, 'face')) + ' face'), environment.getattr(l_1_face, 'map_words'), _loop_vars=_loop_vars))
            yield '\n'
        elif (not environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed')):
            pass
            yield '<p>The face is level before this cut: '
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'highest'), _loop_vars=_loop_vars))
            yield ' above the bed.</p>\n'
        yield '\n<h3>Cut</h3>\n<div class="caution"><p><b>Stay at the machine</b>, a hand at the stop. Keep hands and clothing away from the turning cutter. Stop at any change of sound.</p></div>\n<ol class="steps">\n'
        def macro():
            t_43 = []
            pass
            t_43.extend((
                'Load <strong>',
                escape(environment.getattr(l_1_face, 'face')),
                '.nc</strong>. Its header must show sources <code>',
                escape((undefined(name='hash') if l_0_hash is missing else l_0_hash)),
                '</code>.',
            ))
            return concat(t_43)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-load', )), caller=caller, _loop_vars=_loop_vars)
        def macro():
            t_44 = []
            pass
            t_44.append(
                "Run it once in the air above the work, as the machine's manual says, and check that ",
            )
            if environment.getattr(l_1_face, 'holders'):
                pass
                t_44.append(
                    'the cutter clears every holder',
                )
            else:
                pass
                t_44.append(
                    'nothing is in its way',
                )
            t_44.append(
                '.',
            )
            return concat(t_44)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-air', )), caller=caller, _loop_vars=_loop_vars)
        if (environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'machine'), 'controller'), 'extraction') == 'by hand'):
            pass
            def macro():
                t_45 = []
                pass
                t_45.append(
                    'The program stops once before the spindle starts: switch the dust extraction on, then continue.',
                )
                return concat(t_45)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-dust', )), caller=caller, _loop_vars=_loop_vars)
        def macro():
            t_46 = []
            pass
            t_46.extend((
                'Cut: ',
                escape(t_4(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'passes'))),
                ' pass',
                escape(('es' if (t_4(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'passes')) != 1) else cond_expr_undefined("the inline if-expression on line 204 in 'sheet.html.jinja' evaluated to false and no else section was defined."))),
                ', about ',
                escape(context.call((undefined(name='duration') if l_1_duration is missing else l_1_duration), environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'time'))),
                '.',
            ))
            return concat(t_46)
        caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
        yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-cut', )), caller=caller, _loop_vars=_loop_vars)
        yield '</ol>\n<div class="table" tabindex="0" role="group" aria-label="Passes"><table class="cards three"><thead><tr><th>Pass</th><th class="n">Z shows</th><th class="n">Above '
        yield escape(("the board's top" if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed') else 'bed'))
        yield '</th><th class="n">Expected bite</th><th class="n">Maximum bite</th><th class="n">Rows</th><th class="n">Time</th></tr></thead><tbody>\n'
        l_2_loop = missing
        for l_2_each, l_2_loop in LoopContext(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'passes'), undefined):
            _loop_vars = {}
            pass
            yield '<tr data-pass="'
            yield escape(environment.getattr(l_2_loop, 'index'))
            yield '"><td class="key">'
            yield escape(environment.getattr(l_2_loop, 'index'))
            if environment.getattr(l_2_each, 'finish'):
                pass
                yield ', finish'
            yield '</td><td class="n" data-of="Z shows">'
            yield escape(environment.getitem(environment.getattr(l_1_face, 'shows'), environment.getattr(l_2_loop, 'index0')))
            yield '</td><td class="n" data-of="Above '
            yield escape(('the top' if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed') else 'bed'))
            yield '">'
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_2_each, 'plane'), _loop_vars=_loop_vars))
            yield '</td><td class="n" data-of="Expected bite">'
            if (environment.getattr(l_2_each, 'depth') < 0.0005):
                pass
                yield 'none'
            else:
                pass
                yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_2_each, 'depth'), _loop_vars=_loop_vars))
            yield '</td><td class="n" data-of="Maximum bite">'
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_2_each, 'limit'), _loop_vars=_loop_vars))
            yield '</td><td class="n" data-of="Rows">'
            yield escape(t_4(environment.getattr(l_2_each, 'rows')))
            yield '</td><td class="n" data-of="Time">'
            yield escape(context.call((undefined(name='duration') if l_1_duration is missing else l_1_duration), environment.getattr(l_2_each, 'time'), _loop_vars=_loop_vars))
            yield '</td></tr>\n'
        l_2_loop = l_2_each = missing
        yield '</tbody></table></div>\n'
        if environment.getattr(l_1_face, 'ways'):
            pass
            yield '<figure aria-label="Toolpaths of the passes"><div class="ways">'
            for (l_2_words, l_2_svg) in environment.getattr(l_1_face, 'ways'):
                _loop_vars = {}
                pass
                yield '<div>'
                yield escape(l_2_svg)
                yield '<span>'
                yield escape(l_2_words)
                yield '</span></div>'
            l_2_words = l_2_svg = missing
            yield "</div>\n<figcaption>The toolpath of the cutter's centre, seen from above as in the plan. It starts at the ring; solid lines are cuts, dashed lines are in the air.</figcaption></figure>\n"
        if environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'passes'):
            pass
            yield escape(context.call((undefined(name='picture') if l_0_picture is missing else l_0_picture), environment.getattr(l_1_face, 'stack'), (('Passes of the ' + environment.getattr(l_1_face, 'face')) + ' face'), environment.getattr(l_1_face, 'stack_words'), 'Next pass', _loop_vars=_loop_vars))
            yield '\n'
        yield escape(context.call((undefined(name='picture') if l_0_picture is missing else l_0_picture), environment.getattr(l_1_face, 'section'), (('Section of the ' + environment.getattr(l_1_face, 'face')) + ' face'), environment.getattr(l_1_face, 'section_words'), 'Next part', _loop_vars=_loop_vars))
        yield '\n\n'
        if environment.getattr(l_1_face, 'measure'):
            pass
            yield '<h3>Measure</h3>\n<ol class="steps">\n'
            def macro():
                t_47 = []
                pass
                t_47.append(
                    'The spindle has stopped and is isolated; the chips are brushed away.',
                )
                return concat(t_47)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-still', )), caller=caller, _loop_vars=_loop_vars)
            def macro():
                t_48 = []
                pass
                t_48.append(
                    'The thickness is measured and written below.',
                )
                return concat(t_48)
            caller = Macro(environment, macro, None, (), False, False, False, context.eval_ctx.autoescape)
            yield context.call((undefined(name='step') if l_0_step is missing else l_0_step), markup_join((environment.getattr(l_1_face, 'face'), '-measured', )), caller=caller, _loop_vars=_loop_vars)
            yield '</ol>\n<div class="table" tabindex="0" role="group" aria-label="Readings"><table><thead><tr><th>Place on the panel</th><th>Position on the bed now</th>'
            if environment.getattr(environment.getattr(l_1_face, 'measure'), 'expected'):
                pass
                yield '<th class="n">Expected</th>'
            yield '<th>Measured</th></tr></thead><tbody>\n'
            for (l_2_place, l_2_now) in environment.getattr(environment.getattr(l_1_face, 'measure'), 'places'):
                _loop_vars = {}
                pass
                yield '<tr><td>'
                yield escape(context.call(environment.getattr(l_2_place, 'replace'), '_', ' ', _loop_vars=_loop_vars))
                yield '</td><td>'
                yield escape(l_2_now)
                yield '</td>'
                if environment.getattr(environment.getattr(l_1_face, 'measure'), 'expected'):
                    pass
                    yield '<td class="n">'
                    yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getitem(environment.getattr(environment.getattr(l_1_face, 'measure'), 'expected'), l_2_place), _loop_vars=_loop_vars))
                    yield '</td>'
                yield '<td><span class="fill">&nbsp;</span></td></tr>\n'
            l_2_place = l_2_now = missing
            yield '</tbody></table></div>\n<p>Write the readings into the job <code>'
            yield escape(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'name'))
            yield '</code> in '
            yield escape(environment.getitem(environment.getitem(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'sources'), 0), 0))
            if environment.getattr(environment.getattr((undefined(name='setup') if l_1_setup is missing else l_1_setup), 'touch'), 'kept'):
                pass
                yield ' in place of <code>marks left</code>'
            yield ' and build again:<br><code>'
            yield escape(environment.getattr(environment.getattr(l_1_face, 'measure'), 'line'))
            yield '</code></p>\n'
        yield '</section>\n'
    l_1_loop = l_1_face = l_1_setup = l_1_duration = missing
    yield '\n<section'
    if (undefined(name='setups') if l_0_setups is missing else l_0_setups):
        pass
        yield ' class="face" id="sure"'
    yield '>\n'
    if environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'parts'):
        pass
        yield '<h2>Uncertainty of the thickness</h2>\n<div class="table" tabindex="0" role="group" aria-label="Parts of the plus or minus"><table><thead><tr><th>Source</th><th>Share of the sum</th><th class="n">At most</th></tr></thead><tbody>\n'
        for l_1_part in (undefined(name='parts') if l_0_parts is missing else l_0_parts):
            _loop_vars = {}
            pass
            yield '<tr><td>'
            yield escape(environment.getattr(l_1_part, 'name'))
            yield '</td><td class="bars"><svg class="bar" viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true"><rect class="room" x="0" y="0" width="100" height="10"/><rect class="used" x="'
            yield escape(t_2('%.2f', environment.getattr(l_1_part, 'start')))
            yield '" y="0" width="'
            yield escape(t_2('%.2f', environment.getattr(l_1_part, 'wide')))
            yield '" height="10"/></svg></td><td class="n">'
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_1_part, 'value'), _loop_vars=_loop_vars))
            yield '</td></tr>\n'
        l_1_part = missing
        yield '<tr><td><strong>Sum</strong></td><td class="bars"></td><td class="n"><strong>'
        yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'plus_minus')))
        yield '</strong></td></tr></tbody></table></div>\n'
    if (undefined(name='setups') if l_0_setups is missing else l_0_setups):
        pass
        if (undefined(name='wood') if l_0_wood is missing else l_0_wood):
            pass
            yield '<h3>Where the wood goes</h3>\n<svg class="bar" viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">'
            for l_1_each in (undefined(name='wood') if l_0_wood is missing else l_0_wood):
                _loop_vars = {}
                pass
                yield '<rect class="'
                yield escape(environment.getattr(l_1_each, 'kind'))
                yield '" x="'
                yield escape(t_2('%.2f', environment.getattr(l_1_each, 'start')))
                yield '" y="0" width="'
                yield escape(t_2('%.2f', environment.getattr(l_1_each, 'wide')))
                yield '" height="10"/>'
            l_1_each = missing
            yield '</svg>\n<p>'
            l_1_loop = missing
            for l_1_each, l_1_loop in LoopContext((undefined(name='wood') if l_0_wood is missing else l_0_wood), undefined):
                _loop_vars = {}
                pass
                yield escape(environment.getattr(l_1_each, 'name'))
                yield ' <strong>'
                yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_1_each, 'value'), _loop_vars=_loop_vars))
                yield '</strong>'
                yield escape((', ' if (not environment.getattr(l_1_loop, 'last')) else '.'))
            l_1_loop = l_1_each = missing
            yield ' These are averages over the face.</p>\n'
        yield '<h2>Limits</h2>\n'
        if (undefined(name='panel_bars') if l_0_panel_bars is missing else l_0_panel_bars):
            pass
            yield '<h3>The panel</h3>\n'
            yield escape(context.call((undefined(name='limits') if l_0_limits is missing else l_0_limits), (undefined(name='panel_bars') if l_0_panel_bars is missing else l_0_panel_bars)))
            yield '\n'
        for l_1_face in (undefined(name='setups') if l_0_setups is missing else l_0_setups):
            _loop_vars = {}
            pass
            yield '<h3>The '
            yield escape(environment.getattr(l_1_face, 'face'))
            yield ' face</h3>\n'
            yield escape(context.call((undefined(name='limits') if l_0_limits is missing else l_0_limits), environment.getattr(l_1_face, 'bars'), _loop_vars=_loop_vars))
            yield '\n'
        l_1_face = missing
        yield '<p class="soft">'
        yield escape(('Power is an estimate' if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed') else 'Power, holding and sag are estimates'))
        yield '.</p>\n'
    if (undefined(name='seatings') if l_0_seatings is missing else l_0_seatings):
        pass
        yield '<h3>More leaves or fewer</h3>\n<div class="table" tabindex="0" role="group" aria-label="Leaves"><table><thead><tr><th class="n">Stacks</th><th class="n">Leaves</th><th class="n">Most that can be left</th><th>Pressed at the corners and edges</th></tr></thead><tbody>\n'
        for l_1_each in (undefined(name='seatings') if l_0_seatings is missing else l_0_seatings):
            _loop_vars = {}
            pass
            yield '<tr'
            if environment.getattr(l_1_each, 'chosen'):
                pass
                yield ' class="chosen"'
            yield '><td class="n">'
            yield escape(environment.getattr(l_1_each, 'stacks'))
            if environment.getattr(l_1_each, 'chosen'):
                pass
                yield ' (as planned)'
            yield '</td><td class="n">'
            yield escape(environment.getattr(l_1_each, 'leaves'))
            yield '</td><td class="n">'
            yield escape(environment.getattr(l_1_each, 'most'))
            yield '</td><td>'
            yield escape(environment.getattr(l_1_each, 'rocks'))
            yield '</td></tr>\n'
        l_1_each = missing
        yield '</tbody></table></div>\n'
    if (undefined(name='others') if l_0_others is missing else l_0_others):
        pass
        yield '<h3>What other choices would cost</h3>\n<div class="table" tabindex="0" role="group" aria-label="Other choices"><table class="cards"><thead><tr><th>Choice</th><th>Wood</th><th>Machine time</th></tr></thead><tbody>\n'
        for l_1_each in (undefined(name='others') if l_0_others is missing else l_0_others):
            _loop_vars = {}
            pass
            yield '<tr><td class="key">'
            yield escape(environment.getattr(l_1_each, 'choice'))
            yield '</td><td data-of="Wood">'
            yield escape(environment.getattr(l_1_each, 'wood'))
            yield '</td><td data-of="Machine time">'
            yield escape(environment.getattr(l_1_each, 'time'))
            yield '</td></tr>\n'
        l_1_each = missing
        yield '</tbody></table></div>\n'
    if (undefined(name='proofs') if l_0_proofs is missing else l_0_proofs):
        pass
        yield '<h3>Proven by cutting the programs in memory</h3>\n<div class="table" tabindex="0" role="group" aria-label="Proof"><table class="cards three"><thead><tr><th>Face</th><th class="n">Moves</th><th class="n">Deepest bite</th><th class="n">Collisions</th><th class="n">Wood left above plane</th><th class="n">Flat within</th></tr></thead><tbody>\n'
        for (l_1_face, l_1_proof) in (undefined(name='proofs') if l_0_proofs is missing else l_0_proofs):
            _loop_vars = {}
            pass
            yield '<tr><td class="key">'
            yield escape(l_1_face)
            yield '</td><td class="n" data-of="Moves">'
            yield escape(environment.getattr(l_1_proof, 'program_moves'))
            yield '</td><td class="n" data-of="Deepest bite">'
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_1_proof, 'deepest_bite'), _loop_vars=_loop_vars))
            yield '</td><td class="n" data-of="Collisions">'
            yield escape(environment.getattr(l_1_proof, 'collisions'))
            yield '</td><td class="n" data-of="Wood left above plane">'
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_1_proof, 'left_above_plane'), _loop_vars=_loop_vars))
            yield '</td><td class="n" data-of="Flat within">'
            yield escape(context.call((undefined(name='unit') if l_0_unit is missing else l_0_unit), environment.getattr(l_1_proof, 'flatness'), _loop_vars=_loop_vars))
            yield '</td></tr>\n'
        l_1_face = l_1_proof = missing
        yield '</tbody></table></div>\n<p class="soft">The proof is for '
        if environment.getattr(environment.getattr((undefined(name='job') if l_0_job is missing else l_0_job), 'stock'), 'is_bed'):
            pass
            yield 'a bare board'
        else:
            pass
            yield 'the panel as surveyed and held as drawn'
        yield ', with the zero set as above. It does not cover load, break-out or a worn cutter.</p>\n'
    if (undefined(name='warnings') if l_0_warnings is missing else l_0_warnings):
        pass
        yield '<h3>Warnings</h3>\n<ul>'
        for l_1_finding in (undefined(name='warnings') if l_0_warnings is missing else l_0_warnings):
            _loop_vars = {}
            pass
            yield '<li>'
            yield escape(environment.getattr(l_1_finding, 'code'))
            yield ': '
            yield escape(environment.getattr(l_1_finding, 'message'))
            yield ' '
            yield escape(environment.getattr(l_1_finding, 'help'))
            yield '</li>\n'
        l_1_finding = missing
        yield '</ul>\n'
    if (environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'notes') or (undefined(name='notes') if l_0_notes is missing else l_0_notes)):
        pass
        yield '<h3>Notes</h3>\n<ul class="soft">'
        for l_1_note in environment.getattr((undefined(name='plan') if l_0_plan is missing else l_0_plan), 'notes'):
            _loop_vars = {}
            pass
            yield '<li>'
            yield escape(l_1_note)
            yield '</li>'
        l_1_note = missing
        for l_1_finding in (undefined(name='notes') if l_0_notes is missing else l_0_notes):
            _loop_vars = {}
            pass
            yield '<li>'
            yield escape(environment.getattr(l_1_finding, 'code'))
            yield ': '
            yield escape(environment.getattr(l_1_finding, 'message'))
            yield ' '
            yield escape(environment.getattr(l_1_finding, 'help'))
            yield '</li>\n'
        l_1_finding = missing
        yield '</ul>\n'
    yield '</section>\n</main>\n<script>'
    yield escape((undefined(name='script') if l_0_script is missing else l_0_script))
    yield '</script>\n</body>\n</html>'

blocks = {}
debug_info = '1=77&3=92&4=100&5=115&7=126&8=134&10=164&11=181&12=183&17=190&19=192&21=194&25=196&26=198&28=210&29=213&31=216&32=229&33=236&34=239&36=242&40=248&45=261&48=264&49=268&53=279&57=283&58=292&59=301&61=311&64=315&65=318&70=334&71=339&72=342&73=350&75=363&76=372&77=376&78=378&79=382&81=384&85=388&86=390&87=393&91=396&94=399&95=408&96=419&99=432&100=439&104=443&105=445&106=454&107=456&108=475&110=490&111=499&112=515&114=524&115=526&117=537&118=539&120=548&121=550&123=584&125=594&127=597&130=615&132=618&133=622&136=634&137=637&141=640&144=643&145=647&148=661&149=663&151=674&152=676&154=687&158=698&161=705&162=720&165=735&168=737&169=770&170=772&171=788&173=838&174=840&176=849&177=851&178=871&179=873&182=888&184=906&186=967&187=969&190=981&191=983&192=985&193=988&199=991&200=1004&201=1026&202=1028&204=1037&206=1053&207=1056&208=1060&210=1088&211=1091&214=1101&215=1103&217=1105&219=1107&222=1110&223=1119&225=1129&226=1133&227=1137&229=1149&234=1161&235=1165&238=1168&239=1182&241=1184&242=1186&244=1189&245=1202&248=1213&250=1216&252=1218&253=1222&254=1224&256=1228&258=1230&261=1233&264=1254&267=1257&270=1269&273=1272&274=1276&276=1290&278=1297&280=1300&283=1312&285=1315&286=1322&291=1335'
