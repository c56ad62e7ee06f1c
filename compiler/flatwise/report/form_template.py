"""Made by `python -m flatwise.report.make_template` from `form.html.jinja`.  Do not edit."""

# ruff: noqa
# fmt: off
# mypy: ignore-errors

JINJA = '3.1.6'
SHA256 = 'f1a787c877b3d0e117f0e6dfdf116a5288cab7e371f3e9084407fe685d7e1bcd'

from jinja2.runtime import LoopContext, Macro, Markup, Namespace, TemplateNotFound, TemplateReference, TemplateRuntimeError, Undefined, escape, identity, internalcode, markup_join, missing, str_join
name = 'form.html.jinja'

def root(context, missing=missing):
    resolve = context.resolve_or_missing
    undefined = environment.undefined
    concat = environment.concat
    cond_expr_undefined = Undefined
    if 0: yield None
    l_0_script_hash = resolve('script_hash')
    l_0_work = resolve('work')
    l_0_under = resolve('under')
    l_0_style = resolve('style')
    l_0_spaced = resolve('spaced')
    l_0_walk = resolve('walk')
    l_0_batch = resolve('batch')
    l_0_unit = resolve('unit')
    l_0_hash = resolve('hash')
    l_0_version = resolve('version')
    l_0_edge = resolve('edge')
    l_0_half = resolve('half')
    l_0_plan = resolve('plan')
    l_0_given = resolve('given')
    l_0_others = resolve('others')
    l_0_file = resolve('file')
    l_0_gained = resolve('gained')
    l_0_data = resolve('data')
    l_0_script = resolve('script')
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
    yield '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'; script-src \'sha256-'
    yield escape((undefined(name='script_hash') if l_0_script_hash is missing else l_0_script_hash))
    yield '\'">\n<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>'
    yield escape(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'name'))
    yield ': form for measuring'
    if (undefined(name='under') if l_0_under is missing else l_0_under):
        pass
        yield ' the lower face'
    yield '</title>\n<style>\n'
    yield escape((undefined(name='style') if l_0_style is missing else l_0_style))
    yield '</style>\n</head>\n<body>\n<header>\n<h1>Measure '
    yield escape(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'name'))
    if (undefined(name='under') if l_0_under is missing else l_0_under):
        pass
        yield ', lower face'
    yield '</h1>\n<p>'
    yield escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'job'), 'stock'), 'size'), 'length')))
    yield ' × '
    yield escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'job'), 'stock'), 'size'), 'width')))
    yield ' × '
    yield escape(context.call((undefined(name='spaced') if l_0_spaced is missing else l_0_spaced), environment.getattr(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'job'), 'stock'), 'size'), 'thickness')))
    yield ' '
    yield escape(context.call(environment.getattr(environment.getattr(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'job'), 'stock'), 'wood'), 'replace'), '_', ' '))
    yield '. '
    if (undefined(name='walk') if l_0_walk is missing else l_0_walk):
        pass
        yield 'Gauge '
        yield escape(environment.getattr((undefined(name='walk') if l_0_walk is missing else l_0_walk), 'gauge_name'))
        yield ', program '
        yield escape(('measure_under.nc' if (undefined(name='under') if l_0_under is missing else l_0_under) else 'measure.nc'))
        if (undefined(name='batch') if l_0_batch is missing else l_0_batch):
            pass
            yield ' of batch '
            yield escape((undefined(name='batch') if l_0_batch is missing else l_0_batch))
            if environment.getattr((undefined(name='walk') if l_0_walk is missing else l_0_walk), 'stops'):
                pass
                yield ', stops '
                yield escape(environment.getattr(environment.getitem(environment.getattr((undefined(name='walk') if l_0_walk is missing else l_0_walk), 'stops'), 0), 'number'))
                yield ' to '
                yield escape(environment.getattr(environment.getitem(environment.getattr((undefined(name='walk') if l_0_walk is missing else l_0_walk), 'stops'), -1), 'number'))
        else:
            pass
            yield ', '
            yield escape(t_1(environment.getattr((undefined(name='walk') if l_0_walk is missing else l_0_walk), 'stops')))
            yield ' points'
        yield '. '
    yield 'All readings in <strong>'
    yield escape(('inches' if (environment.getattr((undefined(name='unit') if l_0_unit is missing else l_0_unit), 'symbol') == 'in') else 'millimetres'))
    yield '</strong>. <span class="soft">Sources <code>'
    yield escape((undefined(name='hash') if l_0_hash is missing else l_0_hash))
    yield '</code>, flatwise '
    yield escape((undefined(name='version') if l_0_version is missing else l_0_version))
    yield '.</span></p>\n</header>\n<main>\n<section class="caution" aria-label="Cautions">\n<ul>\n<li>The manuals of the machine and the gauge, local safety rules and trained practice come before this form.</li>\n'
    if (undefined(name='walk') if l_0_walk is missing else l_0_walk):
        pass
        yield '<li><b>Isolate the spindle</b> before the gauge goes into the collet, and keep it isolated until the gauge is out.</li>\n<li><b>The machine moves from point to point.</b> Keep hands, sleeves and tools off the panel and away from the gauge. Read only while it stands still; continue only with your hands clear. Stay beside it, a hand at the stop.</li>\n<li>Panel free on the bed'
        if (undefined(name='under') if l_0_under is missing else l_0_under):
            pass
            yield ', turned over its '
            yield escape((undefined(name='edge') if l_0_edge is missing else l_0_edge))
            yield ' edge'
        yield ': no leaves under it, clamps loose, dust shoe off. Zero set with the gauge pressed by half its travel ('
        yield escape((undefined(name='half') if l_0_half is missing else l_0_half))
        yield ') on the bed '
        if (undefined(name='batch') if l_0_batch is missing else l_0_batch):
            pass
            yield 'where the program says, once for all panels, which all lie free'
        else:
            pass
            yield 'beside the panel'
        yield '.</li>\n<li>Calipers and feelers: only after the program has ended'
        if (not (undefined(name='under') if l_0_under is missing else l_0_under)):
            pass
            yield ', the panel still free on the bed'
        yield '.</li>\n'
    else:
        pass
        yield '<li><b>Isolate the spindle</b> and leave the machine still while your hands are on the bed.</li>\n<li>Panel free on the bed: no leaves under it, clamps loose.</li>\n'
    yield '</ul>\n</section>\n<div class="work">\n<figure aria-label="Plan of the panel">'
    yield escape((undefined(name='plan') if l_0_plan is missing else l_0_plan))
    yield '\n<p id="key" class="key live-only" role="status"></p></figure>\n<form id="entry" class="live-only" novalidate>\n<p id="count" class="soft"></p>\n<h2><label for="value" id="title"></label></h2>\n<p id="hint"></p>\n<div class="big"><button type="button" id="minus" aria-label="Minus: change the sign">−</button><input id="value" type="text" inputmode="decimal" autocomplete="off" enterkeyhint="next" spellcheck="false" aria-describedby="unit hint height said"><span id="unit">'
    yield escape(environment.getattr((undefined(name='unit') if l_0_unit is missing else l_0_unit), 'symbol'))
    yield '</span></div>\n<p id="height" class="soft"></p>\n<p id="said" role="alert"></p>\n<div class="moves"><button type="button" id="back">Back</button><button type="submit" id="next">Next</button></div>\n</form>\n</div>\n<section aria-label="All readings">\n<h2>All readings</h2>\n'
    for (l_1_kind, l_1_title) in (('dial', 'Dial'), ('thickness', 'Thickness'), ('gap', 'Gap under the edge')):
        l_1_fields = resolve('fields')
        l_1_mine = missing
        _loop_vars = {}
        pass
        l_1_mine = t_2(context.eval_ctx, t_3(context, (undefined(name='fields') if l_1_fields is missing else l_1_fields), 'kind', 'in', ((l_1_kind, 'bed') if (l_1_kind == 'dial') else (l_1_kind,))))
        _loop_vars['mine'] = l_1_mine
        if (undefined(name='mine') if l_1_mine is missing else l_1_mine):
            pass
            yield '<h3>'
            yield escape(l_1_title)
            yield ', '
            yield escape(environment.getattr((undefined(name='unit') if l_0_unit is missing else l_0_unit), 'symbol'))
            yield '</h3>\n<ul class="cells '
            yield escape(l_1_kind)
            if (t_1((undefined(name='mine') if l_1_mine is missing else l_1_mine)) > 45):
                pass
                yield ' many'
            yield '">\n'
            for l_2_each in (undefined(name='mine') if l_1_mine is missing else l_1_mine):
                _loop_vars = {}
                pass
                yield '<li data-cell="'
                yield escape(environment.getattr(l_2_each, 'id'))
                yield '"><button type="button">'
                yield escape(environment.getattr(l_2_each, 'mark'))
                yield '</button><span class="typed"></span></li>\n'
            l_2_each = missing
            yield '</ul>\n'
    l_1_kind = l_1_title = l_1_fields = l_1_mine = missing
    yield '<p class="soft">'
    if (undefined(name='given') if l_0_given is missing else l_0_given):
        pass
        yield 'The job already has readings: '
        yield escape((undefined(name='given') if l_0_given is missing else l_0_given))
        yield '. '
    yield escape((undefined(name='others') if l_0_others is missing else l_0_others))
    yield '</p>\n</section>\n<section id="ready" class="live-only" aria-label="Save">\n<h2>Save</h2>\n<p id="state" role="status"></p>\n'
    if (undefined(name='walk') if l_0_walk is missing else l_0_walk):
        pass
        yield '<h3>1. The points</h3>\n<p>Save <code>'
        yield escape((undefined(name='file') if l_0_file is missing else l_0_file))
        yield '</code> in the folder of <code>'
        yield escape(environment.getitem(environment.getitem(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'sources'), 0), 0))
        yield '</code>.</p>\n<textarea id="points" readonly rows="6" aria-label="Points of the walk"></textarea>\n<div class="moves"><button type="button" data-save="points">Save '
        yield escape((undefined(name='file') if l_0_file is missing else l_0_file))
        yield '</button><button type="button" data-copy="points">Copy the points</button></div>\n<h3>2. The survey</h3>\n'
    yield '<p>Paste these lines into <code>'
    yield escape(environment.getitem(environment.getitem(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'sources'), 0), 0))
    yield '</code>, '
    if t_4(environment.getattr(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'job'), 'survey')):
        pass
        yield 'into job <code>'
        yield escape(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'name'))
        yield '</code>'
    else:
        pass
        yield 'into <code>survey</code> of job <code>'
        yield escape(environment.getattr((undefined(name='work') if l_0_work is missing else l_0_work), 'name'))
        yield '</code>'
    yield ', and build it.</p>\n<p id="within-field"><label for="within">Uncertainty of every reading, '
    yield escape(environment.getattr((undefined(name='unit') if l_0_unit is missing else l_0_unit), 'symbol'))
    yield '</label> <input id="within" type="text" inputmode="decimal" autocomplete="off" aria-describedby="within-said"> <span id="within-said" role="alert"></span></p>\n<textarea id="lines" readonly rows="6" aria-label="Lines of the survey"></textarea>\n<div class="moves"><button type="button" data-save="lines">Save the lines</button><button type="button" data-copy="lines">Copy the lines</button></div>\n<p id="done" role="status"></p>\n<p><button type="button" id="clear">Clear all readings</button></p>\n</section>\n'
    for l_1_each in (undefined(name='gained') if l_0_gained is missing else l_0_gained):
        _loop_vars = {}
        pass
        yield '<p>'
        yield escape(l_1_each)
        yield '</p>\n'
    l_1_each = missing
    yield '<noscript><p>This browser runs no scripts: print the form, or open it in another browser to type.</p></noscript>\n</main>\n<script type="application/json" id="data">'
    yield escape((undefined(name='data') if l_0_data is missing else l_0_data))
    yield '</script>\n<script>'
    yield escape((undefined(name='script') if l_0_script is missing else l_0_script))
    yield '</script>\n</body>\n</html>'

blocks = {}
debug_info = '5=55&7=57&9=63&13=65&14=70&20=107&23=110&24=125&32=133&38=135&46=137&47=142&48=144&49=147&50=151&51=156&55=168&60=175&62=178&64=182&67=185&68=198&74=200&78=208&79=210'
