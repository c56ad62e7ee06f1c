"""Made by `python -m flatwise.report.make_template` from `form.html.jinja`.  Do not edit."""

# ruff: noqa
# fmt: off
# mypy: ignore-errors

JINJA = '3.1.6'
SHA256 = 'd71c015a0a5f2bfdcf36ed6c55eeb158cff1e57676213c938e48f74f54db4e8c'

from jinja2.runtime import LoopContext, Macro, Markup, Namespace, TemplateNotFound, TemplateReference, TemplateRuntimeError, Undefined, escape, identity, internalcode, markup_join, missing, str_join
name = 'form.html.jinja'

def root(context, missing=missing):
    resolve = context.resolve_or_missing
    undefined = environment.undefined
    concat = environment.concat
    cond_expr_undefined = Undefined
    if 0: yield None
    l_0_script_hash = resolve('script_hash')
    l_0_name = resolve('name')
    l_0_under = resolve('under')
    l_0_style = resolve('style')
    l_0_batch = resolve('batch')
    l_0_hash = resolve('hash')
    l_0_version = resolve('version')
    l_0_half = resolve('half')
    l_0_sections = resolve('sections')
    l_0_script = resolve('script')
    l_0_panel = missing
    try:
        t_1 = environment.filters['length']
    except KeyError:
        @internalcode
        def t_1(*unused):
            raise TemplateRuntimeError("No filter named 'length' found.")
    try:
        t_2 = environment.filters['list']
    except KeyError:
        @internalcode
        def t_2(*unused):
            raise TemplateRuntimeError("No filter named 'list' found.")
    try:
        t_3 = environment.filters['selectattr']
    except KeyError:
        @internalcode
        def t_3(*unused):
            raise TemplateRuntimeError("No filter named 'selectattr' found.")
    try:
        t_4 = environment.tests['none']
    except KeyError:
        @internalcode
        def t_4(*unused):
            raise TemplateRuntimeError("No test named 'none' found.")
    pass
    def macro(l_1_own):
        t_5 = []
        l_1_spaced = resolve('spaced')
        l_1_p = l_1_work = l_1_walk = l_1_unit = l_1_file = l_1_fields = l_1_of = missing
        if l_1_own is missing:
            l_1_own = undefined("parameter 'own' was not provided", name='own')
        pass
        (l_1_p, l_1_work, l_1_walk, l_1_unit, l_1_file, l_1_fields, l_1_of) = (environment.getattr(l_1_own, 'key'), environment.getattr(l_1_own, 'work'), environment.getattr(l_1_own, 'walk'), environment.getattr(l_1_own, 'unit'), environment.getattr(l_1_own, 'file'), environment.getattr(l_1_own, 'fields'), (markup_join((' of ', environment.getattr(environment.getattr(l_1_own, 'work'), 'name'), )) if (undefined(name='batch') if l_0_batch is missing else l_0_batch) else ''))
        t_5.extend((
            '<section class="form" data-panel="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            '" aria-label="',
            escape(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'name')),
            '">\n',
        ))
        if (undefined(name='batch') if l_0_batch is missing else l_0_batch):
            pass
            t_5.extend((
                '<h2 class="name">',
                escape(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'name')),
                '</h2>',
            ))
        t_5.extend((
            '<p>',
            escape(context.call((undefined(name='spaced') if l_1_spaced is missing else l_1_spaced), environment.getattr(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'job'), 'stock'), 'size'), 'length'))),
            ' × ',
            escape(context.call((undefined(name='spaced') if l_1_spaced is missing else l_1_spaced), environment.getattr(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'job'), 'stock'), 'size'), 'width'))),
            ' × ',
            escape(context.call((undefined(name='spaced') if l_1_spaced is missing else l_1_spaced), environment.getattr(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'job'), 'stock'), 'size'), 'thickness'))),
            ' ',
            escape(context.call(environment.getattr(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'job'), 'stock'), 'wood'), 'replace'), '_', ' ')),
        ))
        if (undefined(name='under') if l_0_under is missing else l_0_under):
            pass
            t_5.extend((
                ', turned over its ',
                escape(environment.getattr(l_1_own, 'edge')),
                ' edge',
            ))
        t_5.append(
            '. ',
        )
        if (undefined(name='walk') if l_1_walk is missing else l_1_walk):
            pass
            t_5.extend((
                'Gauge ',
                escape(environment.getattr((undefined(name='walk') if l_1_walk is missing else l_1_walk), 'gauge_name')),
                ', program ',
                escape(('measure_under.nc' if (undefined(name='under') if l_0_under is missing else l_0_under) else 'measure.nc')),
                ', ',
            ))
            if ((undefined(name='batch') if l_0_batch is missing else l_0_batch) and environment.getattr((undefined(name='walk') if l_1_walk is missing else l_1_walk), 'stops')):
                pass
                t_5.extend((
                    'stops ',
                    escape(environment.getattr(environment.getitem(environment.getattr((undefined(name='walk') if l_1_walk is missing else l_1_walk), 'stops'), 0), 'number')),
                    ' to ',
                    escape(environment.getattr(environment.getitem(environment.getattr((undefined(name='walk') if l_1_walk is missing else l_1_walk), 'stops'), -1), 'number')),
                ))
            else:
                pass
                t_5.extend((
                    escape(t_1(environment.getattr((undefined(name='walk') if l_1_walk is missing else l_1_walk), 'stops'))),
                    ' points',
                ))
            t_5.append(
                '. ',
            )
        t_5.extend((
            'All readings in <strong>',
            escape(('inches' if (environment.getattr((undefined(name='unit') if l_1_unit is missing else l_1_unit), 'symbol') == 'in') else 'millimetres')),
            '</strong>.</p>\n<div class="work">\n<figure aria-label="Plan of the panel',
            escape((undefined(name='of') if l_1_of is missing else l_1_of)),
            '">',
            escape(environment.getattr(l_1_own, 'plan')),
            '\n<p id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'key" class="key live-only" role="status"></p></figure>\n<form id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'entry" class="entry live-only" novalidate>\n<p id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'count" class="count soft"></p>\n<h2><label for="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'value" id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'title"></label></h2>\n<p id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'hint"></p>\n<div class="big"><button type="button" id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'minus" aria-label="Minus: change the sign">−</button><input id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'value" type="text" inputmode="decimal" autocomplete="off" enterkeyhint="next" spellcheck="false" aria-describedby="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'unit ',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'hint ',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'height ',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'said"><span id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'unit">',
            escape(environment.getattr((undefined(name='unit') if l_1_unit is missing else l_1_unit), 'symbol')),
            '</span></div>\n<p id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'height" class="height soft"></p>\n<p id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'said" class="said" role="alert"></p>\n<div class="moves"><button type="button" id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'back">Back</button><button type="submit" id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'next" class="next">Next</button></div>\n</form>\n</div>\n<section aria-label="All readings',
            escape((undefined(name='of') if l_1_of is missing else l_1_of)),
            '">\n<h2>All readings</h2>\n',
        ))
        for (l_2_kind, l_2_title) in (('dial', 'Dial'), ('thickness', 'Thickness'), ('gap', 'Gap under the edge')):
            l_2_mine = missing
            _loop_vars = {}
            pass
            l_2_mine = t_2(context.eval_ctx, t_3(context, (undefined(name='fields') if l_1_fields is missing else l_1_fields), 'kind', 'in', ((l_2_kind, 'bed') if (l_2_kind == 'dial') else (l_2_kind,))))
            _loop_vars['mine'] = l_2_mine
            if (undefined(name='mine') if l_2_mine is missing else l_2_mine):
                pass
                t_5.extend((
                    '<h3>',
                    escape(l_2_title),
                    ', ',
                    escape(environment.getattr((undefined(name='unit') if l_1_unit is missing else l_1_unit), 'symbol')),
                    '</h3>\n<ul class="cells ',
                    escape(l_2_kind),
                ))
                if (t_1((undefined(name='mine') if l_2_mine is missing else l_2_mine)) > 45):
                    pass
                    t_5.append(
                        ' many',
                    )
                t_5.append(
                    '">\n',
                )
                for l_3_each in (undefined(name='mine') if l_2_mine is missing else l_2_mine):
                    _loop_vars = {}
                    pass
                    t_5.extend((
                        '<li data-cell="',
                        escape(environment.getattr(l_3_each, 'id')),
                        '"><button type="button">',
                        escape(environment.getattr(l_3_each, 'mark')),
                        '</button><span class="typed"></span></li>\n',
                    ))
                l_3_each = missing
                t_5.append(
                    '</ul>\n',
                )
        l_2_kind = l_2_title = l_2_mine = missing
        t_5.append(
            '<p class="soft">',
        )
        if environment.getattr(l_1_own, 'given'):
            pass
            t_5.extend((
                'The job already has readings: ',
                escape(environment.getattr(l_1_own, 'given')),
                '. ',
            ))
        t_5.extend((
            escape(environment.getattr(l_1_own, 'others')),
            '</p>\n</section>\n<section id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'ready" class="live-only" aria-label="Save',
            escape((undefined(name='of') if l_1_of is missing else l_1_of)),
            '">\n<h2>Save</h2>\n<p id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'state" role="status"></p>\n',
        ))
        if (undefined(name='walk') if l_1_walk is missing else l_1_walk):
            pass
            t_5.extend((
                '<h3>1. The points</h3>\n<p>Save <code>',
                escape((undefined(name='file') if l_1_file is missing else l_1_file)),
                '</code> in the folder of <code>',
                escape(environment.getitem(environment.getitem(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'sources'), 0), 0)),
                '</code>.</p>\n<textarea id="',
                escape((undefined(name='p') if l_1_p is missing else l_1_p)),
                'points" readonly rows="6" aria-label="Points of the walk"></textarea>\n<div class="moves"><button type="button" data-save="points">Save ',
                escape((undefined(name='file') if l_1_file is missing else l_1_file)),
                '</button><button type="button" data-copy="points">Copy the points</button></div>\n<h3>2. The survey</h3>\n',
            ))
        t_5.extend((
            '<p>Paste these lines into <code>',
            escape(environment.getitem(environment.getitem(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'sources'), 0), 0)),
            '</code>, ',
        ))
        if t_4(environment.getattr(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'job'), 'survey')):
            pass
            t_5.extend((
                'into job <code>',
                escape(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'name')),
                '</code>',
            ))
        else:
            pass
            t_5.extend((
                'into <code>survey</code> of job <code>',
                escape(environment.getattr((undefined(name='work') if l_1_work is missing else l_1_work), 'name')),
                '</code>',
            ))
        t_5.extend((
            ', and build it.</p>\n<p id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'within-field"><label for="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'within">Uncertainty of every reading, ',
            escape(environment.getattr((undefined(name='unit') if l_1_unit is missing else l_1_unit), 'symbol')),
            '</label> <input id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'within" class="within" type="text" inputmode="decimal" autocomplete="off" aria-describedby="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'within-said"> <span id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'within-said" class="said-within" role="alert"></span></p>\n<textarea id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'lines" readonly rows="6" aria-label="Lines of the survey"></textarea>\n<div class="moves"><button type="button" data-save="lines">Save the lines</button><button type="button" data-copy="lines">Copy the lines</button></div>\n<p id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'done" role="status"></p>\n<p><button type="button" id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'clear">Clear all readings</button></p>\n</section>\n',
        ))
        for l_2_each in environment.getattr(l_1_own, 'gained'):
            _loop_vars = {}
            pass
            t_5.extend((
                '<p>',
                escape(l_2_each),
                '</p>\n',
            ))
        l_2_each = missing
        t_5.extend((
            '<script type="application/json" id="',
            escape((undefined(name='p') if l_1_p is missing else l_1_p)),
            'data">',
            escape(environment.getattr(l_1_own, 'data')),
            '</script>\n</section>\n',
        ))
        return concat(t_5)
    context.exported_vars.add('panel')
    context.vars['panel'] = l_0_panel = Macro(environment, macro, 'panel', ('own',), False, False, False, context.eval_ctx.autoescape)
    yield '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'; script-src \'sha256-'
    yield escape((undefined(name='script_hash') if l_0_script_hash is missing else l_0_script_hash))
    yield '\'">\n<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>'
    yield escape((undefined(name='name') if l_0_name is missing else l_0_name))
    yield ': form for measuring'
    if (undefined(name='under') if l_0_under is missing else l_0_under):
        pass
        yield ' the lower face'
    yield '</title>\n<style>\n'
    yield escape((undefined(name='style') if l_0_style is missing else l_0_style))
    yield '</style>\n</head>\n<body>\n<header>\n<h1>Measure '
    yield escape((undefined(name='name') if l_0_name is missing else l_0_name))
    if (undefined(name='under') if l_0_under is missing else l_0_under):
        pass
        yield ', lower face'
        yield escape(('s' if (undefined(name='batch') if l_0_batch is missing else l_0_batch) else cond_expr_undefined("the inline if-expression on line 65 in 'form.html.jinja' evaluated to false and no else section was defined.")))
    yield '</h1>\n<p class="soft">Sources <code>'
    yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
    yield '</code>, flatwise '
    yield escape((undefined(name='version') if l_0_version is missing else l_0_version))
    yield '.</p>\n</header>\n<main>\n<section class="caution" aria-label="Cautions">\n<ul>\n<li>The manuals of the machine and the gauge, local safety rules and trained practice come before this form.</li>\n'
    if (undefined(name='half') if l_0_half is missing else l_0_half):
        pass
        yield '<li><b>Isolate the spindle</b> before the gauge goes into the collet, and keep it isolated until the gauge is out.</li>\n<li><b>The machine moves from point to point.</b> Keep hands, sleeves and tools off the panel'
        yield escape(('s' if (undefined(name='batch') if l_0_batch is missing else l_0_batch) else cond_expr_undefined("the inline if-expression on line 74 in 'form.html.jinja' evaluated to false and no else section was defined.")))
        yield ' and away from the gauge. Read only while it stands still; continue only with your hands clear. Stay beside it, a hand at the stop.</li>\n<li>'
        yield escape(('All panels' if (undefined(name='batch') if l_0_batch is missing else l_0_batch) else 'Panel'))
        yield ' free on the bed'
        if (undefined(name='under') if l_0_under is missing else l_0_under):
            pass
            yield ', turned over '
            yield escape(('as written below' if (undefined(name='batch') if l_0_batch is missing else l_0_batch) else markup_join(('its ', environment.getattr(environment.getitem((undefined(name='sections') if l_0_sections is missing else l_0_sections), 0), 'edge'), ' edge', ))))
        yield ': no leaves under '
        yield escape(('them' if (undefined(name='batch') if l_0_batch is missing else l_0_batch) else 'it'))
        yield ', clamps loose, dust shoe off. Zero set'
        if (undefined(name='batch') if l_0_batch is missing else l_0_batch):
            pass
            yield ' once,'
        yield ' with the gauge pressed by half its travel ('
        yield escape((undefined(name='half') if l_0_half is missing else l_0_half))
        yield ') on the bed '
        if (undefined(name='batch') if l_0_batch is missing else l_0_batch):
            pass
            yield 'where the program says'
        else:
            pass
            yield 'beside the panel'
        yield '.</li>\n<li>Calipers and feelers: only after the program has ended'
        if (not (undefined(name='under') if l_0_under is missing else l_0_under)):
            pass
            yield ', the panel'
            yield escape(('s' if (undefined(name='batch') if l_0_batch is missing else l_0_batch) else cond_expr_undefined("the inline if-expression on line 76 in 'form.html.jinja' evaluated to false and no else section was defined.")))
            yield ' still free on the bed'
        yield '.</li>\n'
    else:
        pass
        yield '<li><b>Isolate the spindle</b> and leave the machine still while your hands are on the bed.</li>\n<li>'
        yield escape(('All panels' if (undefined(name='batch') if l_0_batch is missing else l_0_batch) else 'Panel'))
        yield ' free on the bed: no leaves under '
        yield escape(('them' if (undefined(name='batch') if l_0_batch is missing else l_0_batch) else 'it'))
        yield ', clamps loose.</li>\n'
    yield '</ul>\n</section>\n'
    for l_1_each in (undefined(name='sections') if l_0_sections is missing else l_0_sections):
        _loop_vars = {}
        pass
        yield escape(context.call((undefined(name='panel') if l_0_panel is missing else l_0_panel), l_1_each, _loop_vars=_loop_vars))
    l_1_each = missing
    yield '<noscript><p>This browser runs no scripts: print the form, or open it in another browser to type.</p></noscript>\n</main>\n<script>'
    yield escape((undefined(name='script') if l_0_script is missing else l_0_script))
    yield '</script>\n</body>\n</html>'

blocks = {}
debug_info = '1=46&2=56&3=61&4=70&6=118&7=122&8=124&9=126&10=128&11=132&12=134&13=150&14=152&15=154&18=158&20=161&21=165&22=167&23=171&24=175&25=185&29=203&31=213&33=217&34=220&36=224&37=228&38=230&41=235&42=254&43=266&45=268&46=270&48=273&50=284&57=293&59=295&61=301&65=303&66=309&72=313&74=316&75=318&76=340&79=349&83=354&86=360'
