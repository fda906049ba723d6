using System.Globalization;
using System.Text;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Axis;

/// <summary>The whole run on one time axis as a still picture: for print, and where scripts are off.</summary>
internal sealed class AxisSvg
{
    private const double Width = 1_000, Gutter = 96, Plot = Width - Gutter - 4;
    private const int Columns = 900, MostStrips = 2_000;
    private readonly AxisModel _model;
    private readonly StringBuilder _svg = new();
    private double _y = 4;

    private AxisSvg(AxisModel model) => _model = model;

    public static Markup Of(AxisModel model) => new AxisSvg(model).Draw();

    private Markup Draw()
    {
        foreach (Channel channel in _model.Channels) { Motion(channel); }
        Reference();
        foreach (AxisOutput output in _model.Outputs) { Output(output); }
        Rig();
        Ticks();
        string height = N(_y + 4);
        string label = HtmlText.Escape($"{_model.Run.Manifest.ScenarioName}: motion, reference and observed classes over {Figure.At(_model.Run.End.Ns)}; the tables below say the same in numbers");
        return new($"""
            <svg class="still" viewBox="0 0 {N(Width)} {height}" role="img" aria-label="{label}" xmlns="http://www.w3.org/2000/svg">
            <defs><pattern id="hatch" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="1.8" height="5" class="ink"/></pattern>
            <pattern id="hatch-grace" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="1" height="5" class="muted"/></pattern>
            <pattern id="stripes" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="1.2" fill="#000" fill-opacity=".45"/></pattern></defs>
            {_svg}</svg>

            """);
    }

    private void Motion(Channel channel)
    {
        const double height = 42;
        Label(channel.Name, _y + 18);
        Label(channel.Unit.Length == 0 ? "" : $"{Short(channel.Low)} … {Short(channel.High)} {channel.Unit}", _y + 32, "small");
        Rect(Gutter, _y, Plot, height, "lane");
        MinMax reduced = MinMax.Reduce(channel.Samples, Columns);
        double end = Math.Max(1, _model.Run.Manifest.Rate.SamplesBefore(_model.Run.End));
        double Y(double v) => _y + height - (v - channel.Low) / (channel.High - channel.Low) * height;
        double X(int bucket) => Gutter + Math.Min(1, (double)bucket * reduced.SamplesPerBucket / end) * Plot;
        var path = new StringBuilder();
        for (int b = 0; b < reduced.Min.Length; b++)
        {
            if (double.IsNaN(reduced.Min[b])) { continue; }
            path.Append(path.Length == 0 ? 'M' : 'L').Append(N(X(b))).Append(' ').Append(N(Y(reduced.Max[b])));
            if (reduced.SamplesPerBucket > 1) { path.Append('L').Append(N(X(b))).Append(' ').Append(N(Y(reduced.Min[b]))); }
        }
        if (path.Length > 0) { _svg.Append($"<path class=\"signal\" d=\"{path}\"/>\n"); }
        _y += height + 5;
    }

    private void Reference()
    {
        const double height = 24;
        _y += 4;
        Label("reference", _y + 16);
        bool crowded = _model.Run.Reference.Count > MostStrips;
        if (crowded) { Rect(Gutter, _y, Plot, height, "fast"); }
        foreach (var interval in _model.Run.Reference.OrderBy(r => r.Start))
        {
            if (crowded && X(interval.End.Ns) - X(interval.Start.Ns) < 0.5) { continue; }
            bool scored = !_model.Run.Rules.Unscored.Contains(interval.Class);
            Strip(interval.Start.Ns, Math.Min(interval.End.Ns, _model.Run.End.Ns), scored ? _model.Colours.IndexOf(interval.Class) : -1, interval.Class, height);
        }
        Rect(Gutter, _y, Plot, height, "frame");
        _y += height + 3;
    }

    private void Output(AxisOutput output)
    {
        const double height = 24;
        Label(output.Name.Length == 0 ? "observed" : output.Name, _y + 16);
        var steps = _model.Embedded(output.Timeline, MostStrips);
        for (int i = 0; i < steps.Count; i++)
        {
            long end = i + 1 < steps.Count ? steps[i + 1].StartNs : _model.Run.End.Ns;
            string name = steps[i].Class switch { AxisModel.Fast => "changes too fast to draw", < 0 => ClassColours.None, var c => _model.Colours.Names[c] };
            Strip(steps[i].StartNs, end, steps[i].Class, name, height);
        }
        Rect(Gutter, _y, Plot, height, "frame");
        foreach (EventMark mark in output.Timeline.Events.Take(1_000)) { Event(mark, _y + height); }
        _y += height + 2;
        Label("differs", _y + 10, "small");
        double last = double.NegativeInfinity;
        foreach (Difference d in _model.Embedded(output.Timeline.Differences, MostStrips))
        {
            double x = X(d.StartNs), w = Math.Max(0.8, X(d.EndNs) - X(d.StartNs));
            if (x + w < last + 0.4) { continue; }
            last = x + w;
            _svg.Append($"<rect x=\"{N(x)}\" y=\"{N(_y)}\" width=\"{N(w)}\" height=\"11\" fill=\"url(#{(d.InGrace ? "hatch-grace" : "hatch")})\"/>\n");
        }
        Rect(Gutter, _y, Plot, 11, "frame");
        _y += 14;
        Latency(output.Trials);
    }

    private void Latency(IReadOnlyList<TrialScore> trials)
    {
        if (trials.Count == 0) { return; }
        Label("latency", _y + 10, "small");
        // Marks closer than a few units run into one another: a still picture of hundreds of trials shows the onsets only.
        bool all = trials.Count <= 120;
        foreach (TrialScore t in trials.Take(2_000))
        {
            double onset = X(t.StartNs);
            _svg.Append($"<path class=\"onset\" d=\"M{N(onset)} {N(_y)}v11\"/>");
            if (!all) { continue; }
            if (t.SettlingNs is { } settling) { _svg.Append($"<path class=\"settling\" d=\"M{N(onset)} {N(_y + 5.5)}H{N(X(t.StartNs + settling))}m0 -3v6\"/>"); }
            if (!t.Missed && t.ReactionNs is { } reaction) { _svg.Append($"<path class=\"reaction\" d=\"M{N(onset)} {N(_y + 5.5)}H{N(X(t.StartNs + reaction))}\"/><circle class=\"ink\" cx=\"{N(X(t.StartNs + reaction))}\" cy=\"{N(_y + 5.5)}\" r=\"2.4\"/>"); }
            if (t.Missed) { _svg.Append($"<path class=\"miss\" d=\"M{N(onset + 3)} {N(_y + 2)}l7 7m0 -7l-7 7\"/>"); }
        }
        _svg.Append('\n');
        _y += 15;
    }

    private void Rig()
    {
        const double height = 20;
        if (_model.Lateness is { } late)
        {
            double most = late.WorstMs.Where(double.IsFinite).DefaultIfEmpty(0).Max();
            Label("late", _y + 13);
            Label(most > 0 ? "to " + Figure.Seconds(most / 1e3) : "", _y + 13, "small right");
            Rect(Gutter, _y, Plot, height, "lane");
            MinMax reduced = MinMax.Reduce(late.WorstMs, Columns);
            double samples = Math.Max(1, _model.Run.Manifest.Rate.SamplesBefore(_model.Run.End));
            var path = new StringBuilder();
            for (int b = 0; b < reduced.Max.Length; b++)
            {
                if (!(reduced.Max[b] > 0) || most <= 0) { continue; }
                double x = Gutter + Math.Min(1, (double)b * reduced.SamplesPerBucket * late.SamplesPerBucket / samples) * Plot;
                path.Append(CultureInfo.InvariantCulture, $"M{N(x)} {N(_y + height)}v{N(-reduced.Max[b] / most * height)}");
            }
            if (path.Length > 0) { _svg.Append($"<path class=\"late\" d=\"{path}\"/>\n"); }
            _y += height + 3;
        }
        if (_model.Incidents.Count == 0) { return; }
        Label("trouble", _y + 12);
        int number = 0;
        foreach (RunIncident incident in _model.Incidents.Take(200))
        {
            double x = X(Math.Clamp(incident.At!.Value.Ns, 0, _model.Run.End.Ns));
            string text = (++number).ToString(CultureInfo.InvariantCulture);
            _svg.Append($"<path class=\"trouble\" d=\"M{N(x)} 4V{N(_y + 3)}\"/><circle class=\"ink\" cx=\"{N(x)}\" cy=\"{N(_y + 9)}\" r=\"7\"/><text class=\"on-ink\" x=\"{N(x)}\" y=\"{N(_y + 12.5)}\">{text}<title>{HtmlText.Escape(incident.What)}</title></text>\n");
        }
        _y += 19;
    }

    private void Ticks()
    {
        var (step, ticks) = TimeTicks.Of(_model.Run.End.Ns, 11);
        foreach (long at in ticks)
        {
            double x = X(at);
            string anchor = x > Width - 40 ? " end" : at == 0 ? " begin" : "";
            _svg.Append($"<path class=\"tick\" d=\"M{N(x)} 4V{N(_y + 4)}\"/><text class=\"tick-label{anchor}\" x=\"{N(x)}\" y=\"{N(_y + 16)}\">{HtmlText.Escape(TimeTicks.Label(at, step))}</text>\n");
        }
        _y += 18;
    }

    private void Strip(long from, long to, int index, string name, double height)
    {
        double x = X(from), w = X(to) - x;
        if (w <= 0) { return; }
        string position = $"x=\"{N(x)}\" y=\"{N(_y)}\" width=\"{N(Math.Max(w, 0.3))}\" height=\"{N(height)}\"";
        if (index < 0) { _svg.Append($"<rect {position} class=\"{(index == AxisModel.Fast ? "fast" : "nothing")}\"/>"); }
        else
        {
            var (hue, _, striped) = ClassColours.At(index);
            _svg.Append($"<rect {position} fill=\"{hue}\"/>");
            if (striped) { _svg.Append($"<rect {position} fill=\"url(#stripes)\"/>"); }
        }
        string shown = Fitting(HtmlText.Visible(name), w);
        if (shown.Length > 0)
        {
            string ink = index < 0 ? "class=\"in-strip nothing-label\"" : $"class=\"in-strip\" fill=\"{ClassColours.At(index).Ink}\"";
            _svg.Append($"<text {ink} x=\"{N(x + 5)}\" y=\"{N(_y + height / 2 + 4)}\">{HtmlText.Escape(shown)}</text>");
        }
        _svg.Append('\n');
    }

    /// <summary>As much of a name as fits, at about 6.4 units a letter; "" where not even three letters do.</summary>
    private static string Fitting(string name, double width)
    {
        int letters = (int)((width - 10) / 6.4);
        if (letters >= name.Length) { return name; }
        if (letters < 4) { return ""; }
        int cut = char.IsHighSurrogate(name[letters - 2]) ? letters - 2 : letters - 1;
        return name[..cut] + "…";
    }

    private void Event(EventMark mark, double bottom)
    {
        double x = X(mark.AtNs);
        int index = _model.Colours.IndexOf(mark.Class);
        string fill = index < 0 ? "" : $" fill=\"{ClassColours.At(index).Hue}\"";
        string title = HtmlText.Escape($"{mark.Class} at {Figure.At(mark.AtNs)}{(mark.Hit ? "" : ": false alarm")}");
        _svg.Append($"<path class=\"event{(mark.Hit ? "" : " false-alarm")}\"{fill} d=\"M{N(x)} {N(bottom - 14)}l5.5 11h-11z\"><title>{title}</title></path>\n");
    }

    private double X(long ns) => Gutter + (_model.Run.End.Ns <= 0 ? 0 : Math.Clamp((double)ns / _model.Run.End.Ns, 0, 1) * Plot);
    private void Rect(double x, double y, double w, double h, string css) => _svg.Append($"<rect class=\"{css}\" x=\"{N(x)}\" y=\"{N(y)}\" width=\"{N(w)}\" height=\"{N(h)}\"/>\n");

    private void Label(string text, double y, string css = "")
    {
        bool right = css.EndsWith("right", StringComparison.Ordinal);
        string shown = HtmlText.Visible(text);
        if (shown.Length > 17) { shown = shown[..(char.IsHighSurrogate(shown[15]) ? 15 : 16)] + "…"; }
        _svg.Append($"<text class=\"label {css}\" x=\"{N(right ? Gutter - 6 : 0)}\" y=\"{N(y)}\">{HtmlText.Escape(shown)}</text>\n");
    }

    /// <summary>The end of a drawn range, short enough for the gutter.</summary>
    private static string Short(double v) => Figure.Decimals(v, Math.Abs(v) >= 100 ? 0 : Math.Abs(v) >= 10 ? 1 : 2);

    private static string N(double v) => (double.IsFinite(v) ? v : 0).ToString("0.#", CultureInfo.InvariantCulture);
}
