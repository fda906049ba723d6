namespace HilRunner.Core.Models;

/// <summary>What a model computes, in the words of a rig file: a feature's name with _ for its brackets, such as <c>deviation_main</c>.</summary>
public static class ReportedFeatures
{
    /// <summary>The model's values in the windows that end with given samples; a sample without a whole window before it is left out.</summary>
    /// <param name="counts">[channel][sample], in the model's order of channels.</param>
    /// <param name="samples">Indices into <paramref name="counts"/>.</param>
    /// <param name="names">As the rig names them; the values come in their order, null where the model has no such feature.</param>
    public static IReadOnlyDictionary<long, int?[]> Of(MotionModel model, IReadOnlyList<int[]> counts, IReadOnlySet<long> samples, IReadOnlyList<string> names)
    {
        ArgumentNullException.ThrowIfNull(model);
        ArgumentNullException.ThrowIfNull(counts);
        ArgumentNullException.ThrowIfNull(samples);
        var series = Feature.SeriesNames(model.Channels.Select(c => c.Name));
        Feature?[] features = [.. names.Select(n => Feature.TryParse(InBrackets(n), series, out var feature) ? feature : (Feature?)null)];
        var runner = new ModelRunner(model);
        var found = new Dictionary<long, int?[]>();
        int[] sample = new int[counts.Count];
        for (int n = 0; n < counts[0].Length; n++)
        {
            for (int c = 0; c < sample.Length; c++) { sample[c] = counts[c][n]; }
            runner.Push(n, sample, out _);
            if (samples.Contains(n) && runner.Filled == model.Window) { found[n] = [.. features.Select(f => f is { } known ? runner.Value(known) : (int?)null)]; }
        }
        return found;
    }

    /// <summary>deviation(main) for deviation_main.</summary>
    public static string InBrackets(string name)
    {
        ArgumentNullException.ThrowIfNull(name);
        int at = name.IndexOf('_', StringComparison.Ordinal);
        return at < 0 ? name : $"{name[..at]}({name[(at + 1)..]})";
    }
}
