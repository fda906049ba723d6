namespace HilRunner.Core.Recordings.Import;

/// <summary>The usual step and the resolution of the stamps, from the first rows.</summary>
internal sealed class StepGuess(ImportTime time)
{
    /// <summary>Steps that enter the usual one: up to this many medians, so that gaps do not.</summary>
    private const double LongestOfMedian = 4;

    private readonly Dictionary<string, long> _last = [];
    private readonly List<long> _steps = [];
    private int _decimals;

    public void Add(ImportRow row)
    {
        if (_last.TryGetValue(row.Key, out long before) && row.Ns >= before) { _steps.Add(row.Ns - before); }
        if (_last.Count < ImportPass.MostKeys || _last.ContainsKey(row.Key)) { _last[row.Key] = row.Ns; }
        int point = row.TimeText.LastIndexOfAny('.', ',');
        if (point < 0) { return; }
        int end = point + 1;
        while (end < row.TimeText.Length && char.IsAsciiDigit(row.TimeText[end])) { end++; }
        _decimals = Math.Max(_decimals, end - point - 1);
    }

    /// <summary>Null: no two rows with rising stamps.</summary>
    /// <param name="statedNs">The step of the stated rate; null: none is stated.</param>
    public StepRule? Rule(double? statedNs, long? gapNs, bool uneven)
    {
        decimal unit = time.Unit == "iso" ? 1_000_000_000 : time.UnitNs;
        for (int i = 0; i < _decimals && unit > 1; i++) { unit /= 10; }
        long resolution = Math.Max(1, (long)unit);
        if (statedNs is { } stated) { return new(stated, resolution, gapNs, uneven); }
        // Steps of 0 count only where the stamps are coarser than the samples.
        _steps.Sort();
        if (_steps.Count == 0 || _steps[^1] == 0) { return null; }
        double median = Math.Max(_steps[_steps.Count / 2], _steps.First(s => s > 0 || resolution <= 1));
        var usual = _steps.Where(s => s <= LongestOfMedian * Math.Max(median, resolution)).ToList();
        double mean = usual.Count == 0 ? 0 : usual.Average();
        return new(mean > 0 ? mean : median, resolution, gapNs, uneven);
    }
}
