namespace HilRunner.Inspection.Results;

/// <summary>A <see cref="CheckResult"/> in the making.</summary>
internal sealed class CheckReport(string check)
{
    private readonly List<CheckFigure> _figures = [];
    private readonly List<Finding> _findings = [];

    public IReadOnlyList<Finding> Findings => _findings;

    public CheckFigure Figure(string name, double? value, string unit)
    {
        var figure = new CheckFigure(name, value is { } v && double.IsFinite(v) ? v : null, unit);
        _figures.Add(figure);
        return figure;
    }

    /// <param name="places">Null: the whole recording.</param>
    public void Find(string kind, Fitness fitness, string what, CheckFigure figure, string remedy, PlaceList? places = null) =>
        _findings.Add(new(kind, fitness, what, figure, remedy, places?.First ?? [], places?.Count ?? 0));

    public CheckResult Done(string summary) =>
        new(check, _findings.Count == 0 ? Fitness.Fit : _findings.Max(f => f.Fitness), summary, _figures, _findings);
}

/// <summary>Places of a finding: the first ones kept, all counted.</summary>
internal sealed class PlaceList
{
    private readonly List<Stretch> _first = [];

    public long Count { get; private set; }
    public IReadOnlyList<Stretch> First => _first;

    public void Add(long fromNs, long toNs)
    {
        Count++;
        if (_first.Count < Finding.MostPlaces) { _first.Add(new(fromNs, toNs)); }
    }
}
