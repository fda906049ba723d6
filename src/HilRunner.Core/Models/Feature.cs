namespace HilRunner.Core.Models;

/// <summary>Integer statistics of one window; README.md beside this file holds the formulas.</summary>
public enum FeatureStatistic { Mean, Deviation, Minimum, Maximum, Range, Step, Roughness, Pace, Crossings }

/// <summary>One statistic of one series of the window.</summary>
/// <param name="Series">Channel number; or, after the channels, |a| and then |g|; or <see cref="MainAxis"/>.</param>
public readonly record struct Feature(FeatureStatistic Statistic, int Series)
{
    /// <summary>The axis of ax, ay, az that deviates most in this window; the earlier one when two are equal.</summary>
    public const int MainAxis = -1;

    /// <summary>Names of the series of a model with these channels, in the order of their numbers.</summary>
    internal static List<string> SeriesNames(IEnumerable<string> channels)
    {
        List<string> names = [.. channels, "a"];
        if (names.Contains("gx") && names.Contains("gy") && names.Contains("gz")) { names.Add("g"); }
        return names;
    }

    /// <summary>As a model file names it: "statistic(series)".</summary>
    internal string Named(List<string> seriesNames) => $"{Statistic.ToString().ToLowerInvariant()}({(Series == MainAxis ? "main" : seriesNames[Series])})";

    /// <summary>Reads "statistic(series)"; false when either is unknown.</summary>
    internal static bool TryParse(string text, List<string> seriesNames, out Feature feature)
    {
        feature = default;
        int open = text.IndexOf('(');
        if (open < 1 || !text.EndsWith(')')) { return false; }
        string statisticName = text[..open];
        string seriesName = text[(open + 1)..^1];
        int statistic = Array.FindIndex(Enum.GetNames<FeatureStatistic>(), n => n.ToLowerInvariant() == statisticName);
        int series = seriesName == "main" ? MainAxis : seriesNames.IndexOf(seriesName);
        if (statistic < 0 || (series < 0 && seriesName != "main")) { return false; }
        feature = new((FeatureStatistic)statistic, series);
        return true;
    }
}
