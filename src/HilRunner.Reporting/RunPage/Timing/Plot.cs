using System.Globalization;
using System.Text;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage.Timing;

/// <summary>A plot in its frame: a heading, a picture that scrolls where the screen is too narrow, and how to read it.</summary>
internal static class Plot
{
    /// <param name="text">The picture in words, for those who do not see it.</param>
    /// <param name="level">Of the heading: one below that of what holds it.</param>
    public static Markup Frame(string heading, string text, double width, double height, StringBuilder svg, string key, int level = 4)
    {
        string box = string.Create(CultureInfo.InvariantCulture, $"0 0 {width} {height}");
        Markup picture = new($"<svg class=\"dots\" viewBox=\"{box}\" role=\"img\" aria-label=\"{HtmlText.Escape(text)}\" xmlns=\"http://www.w3.org/2000/svg\">\n{svg}</svg>");
        return Markup.Of($"<div class=\"plot\"><h{level}>{heading}</h{level}>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{heading}\">{picture}</div>\n<p class=\"quiet\">{key}</p></div>\n");
    }
}
