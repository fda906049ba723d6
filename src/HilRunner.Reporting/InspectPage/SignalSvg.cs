using System.Globalization;
using System.Text;
using HilRunner.Inspection;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Results;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.InspectPage;

/// <summary>The recording over time: channels, labels, and a strip for every finding that has places, numbered as in the table.</summary>
internal sealed class SignalSvg
{
    private const double Width = 1_000, Gutter = 96, Plot = Width - Gutter - 4;
    private const int MostLabels = 2_000, MostStrips = 12;
    private readonly RecordingInspection _inspection;
    private readonly StringBuilder _svg = new();
    private double _y = 4;

    private SignalSvg(RecordingInspection inspection) => _inspection = inspection;

    /// <param name="index">Makes the names of patterns unique in the page.</param>
    public static Markup Of(RecordingInspection inspection, string called, IReadOnlyList<Finding> findings, ClassColours colours, int index)
    {
        var drawing = new SignalSvg(inspection);
        foreach (var channel in inspection.Pictures.Channels) { drawing.Channel(channel); }
        drawing.Labels(colours, index);
        int shown = 0;
        for (int i = 0; i < findings.Count && shown < MostStrips; i++)
        {
            if (findings[i].Where.Count == 0) { continue; }
            drawing.Strip(findings[i], i + 1);
            shown++;
        }
        drawing.Ticks();
        string name = $"{inspection.Recording.Name} over {Figure.At(inspection.EndNs)}: channels, labels and places of findings; the table of findings says the same in words";
        return new($"""
            <div class="still-frame always" tabindex="0" role="region" aria-label="{HtmlText.Escape(called)} over time"><svg class="still" viewBox="0 0 {N(Width)} {N(drawing._y + 4)}" role="img" aria-label="{HtmlText.Escape(name)}" xmlns="http://www.w3.org/2000/svg">
            <defs><pattern id="stripes-{index.ToString(CultureInfo.InvariantCulture)}" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="1.2" fill="#000" fill-opacity=".45"/></pattern></defs>
            {drawing._svg}</svg></div>

            """);
    }

    private void Channel(SignalPicture c)
    {
        const double height = 46;
        double low = c.Least.Where(double.IsFinite).DefaultIfEmpty(0).Min(), high = c.Most.Where(double.IsFinite).DefaultIfEmpty(0).Max();
        double margin = Math.Max(1e-3, (high - low) * 0.04);
        Text(c.Name, 0, _y + 18, "label");
        Text($"{Short(low)} … {Short(high)} {c.Unit}", 0, _y + 32, "label small");
        Rect(Gutter, Plot, _y, height, "lane");
        double Y(double v) => _y + height - (v - low + margin) / (high - low + 2 * margin) * height;
        var path = new StringBuilder();
        bool down = false;
        for (int b = 0; b < c.Least.Length; b++)
        {
            // A recording of fewer samples than columns has empty ones between them: the line goes on, a gap is a finding of its own.
            if (double.IsNaN(c.Least[b])) { continue; }
            double x = Gutter + (b + 0.5) / c.Least.Length * Plot;
            path.Append(down ? 'L' : 'M').Append(N(x)).Append(' ').Append(N(Y(c.Most[b]))).Append('L').Append(N(x)).Append(' ').Append(N(Y(c.Least[b])));
            down = true;
        }
        _svg.Append($"<path class=\"signal\" d=\"{path}\"/>\n");
        _y += height + 3;
    }

    private void Labels(ClassColours colours, int index)
    {
        IReadOnlyList<InspectedLabel> labels = _inspection.Recording.Labels;
        if (labels.Count == 0) { return; }
        const double height = 20;
        Text("labels", 0, _y + 14, "label");
        foreach (var label in labels.Take(MostLabels))
        {
            double from = X(label.StartNs), width = X(label.EndNs) - from;
            if (width <= 0) { continue; }
            int colour = colours.IndexOf(label.Class);
            var (hue, ink, striped) = colour < 0 ? ("none", "#000000", false) : ClassColours.At(colour);
            string position = $"x=\"{N(from)}\" y=\"{N(_y)}\" width=\"{N(Math.Max(width, 0.3))}\" height=\"{N(height)}\"";
            _svg.Append($"<rect {position} fill=\"{hue}\"><title>{HtmlText.Escape($"{label.Class}, {Figure.At(label.StartNs)} to {Figure.At(label.EndNs)}")}</title></rect>");
            if (striped) { _svg.Append($"<rect {position} fill=\"url(#stripes-{index.ToString(CultureInfo.InvariantCulture)})\"/>"); }
            string name = HtmlText.Visible(label.Class);
            if (name.Length * 6.4 + 10 < width) { _svg.Append($"<text class=\"in-strip\" fill=\"{ink}\" x=\"{N(from + 5)}\" y=\"{N(_y + 14)}\">{HtmlText.Escape(name)}</text>"); }
            _svg.Append('\n');
        }
        _y += height + 4;
    }

    private void Strip(Finding f, int number)
    {
        const double height = 12;
        string mark = number.ToString(CultureInfo.InvariantCulture);
        Text($"{mark} {f.Kind.Replace('_', ' ')}", 0, _y + 10, "label small");
        Rect(Gutter, Plot, _y, height, "lane");
        foreach (var place in f.Where)
        {
            double from = X(place.FromNs), width = Math.Max(1.5, X(place.ToNs) - from);
            _svg.Append($"<rect class=\"found{(f.Fitness == Fitness.Unfit ? "" : " care")}\" x=\"{N(from)}\" y=\"{N(_y)}\" width=\"{N(width)}\" height=\"{N(height)}\"><title>{HtmlText.Escape($"{f.What}: {Figure.At(place.FromNs)} to {Figure.At(place.ToNs)}")}</title></rect>");
        }
        _svg.Append('\n');
        _y += height + 2;
    }

    private void Ticks()
    {
        var (step, ticks) = TimeTicks.Of(_inspection.EndNs, 11);
        foreach (long at in ticks)
        {
            double x = X(at);
            string anchor = x > Width - 40 ? "end" : at == 0 ? "begin" : "";
            _svg.Append($"<path class=\"tick\" d=\"M{N(x)} 4V{N(_y + 2)}\"/><text class=\"tick-label {anchor}\" x=\"{N(x)}\" y=\"{N(_y + 14)}\">{HtmlText.Escape(TimeTicks.Label(at, step))}</text>\n");
        }
        _y += 16;
    }

    private double X(long ns) => Gutter + (_inspection.EndNs <= 0 ? 0 : Math.Clamp((double)ns / _inspection.EndNs, 0, 1) * Plot);

    private void Rect(double x, double width, double y, double height, string css) =>
        _svg.Append($"<rect class=\"{css}\" x=\"{N(x)}\" y=\"{N(y)}\" width=\"{N(width)}\" height=\"{N(height)}\"/>\n");

    private void Text(string text, double x, double y, string css)
    {
        string shown = HtmlText.Visible(text);
        if (shown.Length > 17) { shown = shown[..(char.IsHighSurrogate(shown[15]) ? 15 : 16)] + "…"; }
        _svg.Append($"<text class=\"{css}\" x=\"{N(x)}\" y=\"{N(y)}\">{HtmlText.Escape(shown)}</text>\n");
    }

    private static string Short(double v) => Figure.Decimals(v, Math.Abs(v) >= 100 ? 0 : Math.Abs(v) >= 10 ? 1 : 2);

    private static string N(double v) => (double.IsFinite(v) ? v : 0).ToString("0.#", CultureInfo.InvariantCulture);
}
