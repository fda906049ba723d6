using System.Globalization;
using System.Text;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.CasePage;

/// <summary>The excerpt over time: its channels, who said what, and where it was judged.</summary>
internal sealed class ExcerptSvg
{
    private const double Width = 1_000, Gutter = 96, Plot = Width - Gutter - 4;
    private const int MostPoints = 2_000;
    private readonly CaseExcerpt _excerpt;
    private readonly StringBuilder _svg = new();
    private double _y = 4;

    private ExcerptSvg(CaseExcerpt excerpt) => _excerpt = excerpt;

    public static Markup Of(CaseExcerpt excerpt, ClassColours colours)
    {
        var drawing = new ExcerptSvg(excerpt);
        foreach (var (name, values) in excerpt.Channels) { drawing.Channel(name, values); }
        if (excerpt.Logged is { } logged) { drawing.Strip("the log", logged, colours); }
        drawing.Strip("the device", excerpt.Device, colours);
        if (excerpt.Host is { } host) { drawing.Strip("its model", host, colours); }
        double from = X((double)excerpt.From.Seconds), to = X((double)excerpt.To.Seconds);
        string judged = $"<path class=\"limit\" d=\"M{N(from)} 2V{N(drawing._y)}M{N(to)} 2V{N(drawing._y)}\"/>\n";
        drawing.Ticks();
        string name0 = $"The excerpt over {CaseWords.Seconds(excerpt.Seconds)}: what was felt, and what was said; judged between the dashed lines";
        return new($"<div class=\"still-frame always\" tabindex=\"0\" role=\"region\" aria-label=\"The excerpt over time\"><svg class=\"still\" viewBox=\"0 0 {N(Width)} {N(drawing._y + 4)}\" role=\"img\" aria-label=\"{HtmlText.Escape(name0)}\" xmlns=\"http://www.w3.org/2000/svg\">\n{drawing._svg}{judged}</svg></div>\n");

        double X(double seconds) => drawing.X(seconds);
    }

    private void Channel(string name, double[] values)
    {
        const double height = 46;
        double low = values.DefaultIfEmpty(0).Min(), high = values.DefaultIfEmpty(0).Max(), margin = Math.Max(1e-3, (high - low) * 0.04);
        Text(name, 18, "label");
        Text($"{Figure.Decimals(low, 2)} … {Figure.Decimals(high, 2)} {(name[0] == 'g' ? "°/s" : "g")}", 32, "label small");
        _svg.Append($"<rect class=\"lane\" x=\"{N(Gutter)}\" y=\"{N(_y)}\" width=\"{N(Plot)}\" height=\"{N(height)}\"/>\n");
        double Y(double v) => _y + height - (v - low + margin) / (high - low + 2 * margin) * height;
        var path = new StringBuilder();
        int columns = Math.Min(values.Length, MostPoints);
        for (int c = 0; c < columns; c++)
        {
            // Least and greatest of what falls into a column: no peak is lost.
            var part = values.AsSpan((int)((long)c * values.Length / columns)..(int)((long)(c + 1) * values.Length / columns));
            double x = X((c + 0.5) / columns * _excerpt.Seconds), least = part[0], most = part[0];
            foreach (double v in part) { (least, most) = (Math.Min(least, v), Math.Max(most, v)); }
            path.Append(c == 0 ? 'M' : 'L').Append(N(x)).Append(' ').Append(N(Y(most)));
            if (most > least) { path.Append('L').Append(N(x)).Append(' ').Append(N(Y(least))); }
        }
        _svg.Append($"<path class=\"signal\" d=\"{path}\"/>\n");
        _y += height + 3;
    }

    private void Strip(string who, IReadOnlyList<CaseSaid> said, ClassColours colours)
    {
        const double height = 20;
        Text(who, 14, "label");
        _svg.Append($"<rect class=\"lane\" x=\"{N(Gutter)}\" y=\"{N(_y)}\" width=\"{N(Plot)}\" height=\"{N(height)}\"/>\n");
        for (int i = 0; i < said.Count; i++)
        {
            double from = X(said[i].At), width = X(i + 1 < said.Count ? said[i + 1].At : _excerpt.Seconds) - from;
            if (width <= 0) { continue; }
            int colour = colours.IndexOf(said[i].Class);
            var (hue, ink, _) = ClassColours.At(Math.Max(0, colour));
            _svg.Append($"<rect x=\"{N(from)}\" y=\"{N(_y)}\" width=\"{N(width)}\" height=\"{N(height)}\" fill=\"{hue}\"><title>{HtmlText.Escape($"{said[i].Class}, from {CaseWords.Seconds(said[i].At)} on")}</title></rect>");
            string name = HtmlText.Visible(said[i].Class);
            if (name.Length * 6.4 + 10 < width) { _svg.Append($"<text class=\"in-strip\" fill=\"{ink}\" x=\"{N(from + 5)}\" y=\"{N(_y + 14)}\">{HtmlText.Escape(name)}</text>"); }
            _svg.Append('\n');
        }
        _y += height + 4;
    }

    private void Ticks()
    {
        var (step, ticks) = TimeTicks.Of((long)(_excerpt.Seconds * 1e9), 11);
        foreach (long at in ticks)
        {
            double x = X(at / 1e9);
            string anchor = x > Width - 40 ? "end" : at == 0 ? "begin" : "";
            _svg.Append($"<path class=\"tick\" d=\"M{N(x)} 4V{N(_y + 2)}\"/><text class=\"tick-label {anchor}\" x=\"{N(x)}\" y=\"{N(_y + 14)}\">{HtmlText.Escape(TimeTicks.Label(at, step))}</text>\n");
        }
        _y += 16;
    }

    private double X(double seconds) => Gutter + (_excerpt.Seconds <= 0 ? 0 : Math.Clamp(seconds / _excerpt.Seconds, 0, 1) * Plot);

    private void Text(string text, double below, string css) => _svg.Append($"<text class=\"{css}\" x=\"0\" y=\"{N(_y + below)}\">{HtmlText.Escape(text)}</text>\n");

    private static string N(double v) => (double.IsFinite(v) ? v : 0).ToString("0.#", CultureInfo.InvariantCulture);
}
