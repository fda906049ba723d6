using HilRunner.Core.Files;
using HilRunner.Core.Recordings.Parquet;

namespace HilRunner.Core.Recordings.Import;

/// <summary>How one file is read: the map with nothing left open, and what was found besides.</summary>
internal sealed class ImportPlan
{
    public required string Path { get; init; }
    public required ImportMap Map { get; init; }
    public required List<string> Doubts { get; init; }
    public required IReadOnlyList<ChannelPlan> Channels { get; init; }
    /// <summary>Null: no time column.</summary>
    public StepRule? Steps { get; init; }
    public StepRule? PartnerSteps { get; init; }
    public string? PartnerPath { get; init; }
    /// <summary>The file is in the native form, or holds it as Parquet: labels and side file beside or in it count.</summary>
    public bool IsNative { get; init; }
    public IReadOnlyList<FileLabel>? Labels { get; init; }
    public string LabelPath { get; init; } = "";
    public bool HasLabelColumn { get; init; }

    /// <summary>All rows from the start; the same in every pass.</summary>
    /// <param name="bad">Where rows that cannot be read are told.</param>
    /// <param name="faults">Where joining fails.</param>
    public IImportRows Open(FaultList bad, FaultList faults)
    {
        var main = new LogRows(Path, Map, Map.Reading, main: true, bad);
        if (PartnerPath is null) { return main; }
        try
        {
            var partner = new LogRows(PartnerPath, Map, Map.With!.Reading, main: false, bad);
            return Map.With.Join == ImportJoin.Time ? new TimeJoin(main, partner, PartnerSteps!, faults) : new RowJoin(main, partner, PartnerPath, faults);
        }
        catch
        {
            main.Dispose();
            throw;
        }
    }

    /// <exception cref="BadInputException">The file, its labels or its second file cannot be understood; says what to say.</exception>
    public static ImportPlan Of(string path, ImportMap said)
    {
        var doubts = new List<string>();
        var map = FileNameGroups.Fill(said, path);
        string folder = System.IO.Path.GetDirectoryName(path) ?? "";
        map = map with { Reading = Completed(path, map.Reading, doubts) };
        bool native = IsNativeForm(map.Reading);
        var info = map.Info;
        IReadOnlyList<FileLabel>? labels = null;
        string labelPath = "";
        bool column = map.Reading.Columns!.Any(c => c.Role == "label");
        if (map.Labels is { } format)
        {
            if (column && said.Reading.Columns?.Any(c => c.Role == "label") != true) { map = map with { Reading = map.Reading with { Columns = [.. map.Reading.Columns!.Where(c => c.Role != "label")] } }; }
            labelPath = System.IO.Path.Combine(folder, format.Path);
            labels = LabelFile.Read(labelPath, format);
            column = false;
        }
        else if (native)
        {
            var companions = Companions(path, map.Reading.Format == ImportFormat.Parquet);
            var intervals = companions.Labels(0);
            FaultList.ThrowIfAny([.. companions.Faults]);
            labels = intervals.Count == 0 ? null : LabelFile.OfNative(intervals);
            labelPath = System.IO.Path.ChangeExtension(path, ".labels.csv");
            info = Merged(info, companions.Info);
            if (map.Resample is null) { map = map with { Rate = map.Rate ?? companions.Info.Rate }; }
        }
        string? partner = map.With is { } with ? System.IO.Path.Combine(folder, with.Path) : null;
        if (partner is not null && map.With!.Optional && !File.Exists(partner))
        {
            doubts.Add($"no {partner}: imported without it");
            (partner, map) = (null, map with { With = null });
        }
        if (partner is not null)
        {
            var reading = Completed(partner, map.With!.Reading, doubts);
            bool both = reading.Columns!.Any(c => c.Role == "t") && map.Reading.Columns!.Any(c => c.Role == "t");
            map = map with { With = map.With with { Reading = reading, Join = map.With.Join ?? (both ? ImportJoin.Time : ImportJoin.Row) } };
            RefuseDoubles(partner, map, both);
        }
        var (main, steps) = Probe(path, map, map.Reading, main: true, doubts);
        map = map with { Reading = main, Info = info };
        StepRule? partnerSteps = null;
        if (partner is not null)
        {
            (var second, partnerSteps) = Probe(partner, map, map.With!.Reading, main: false, doubts);
            map = map with { With = map.With with { Reading = second } };
            if (map.With.Join == ImportJoin.Time && partnerSteps is null) { throw Bad(partner, "stamps that do not rise", "rising stamps, since the file is joined by time", "join by row"); }
        }
        var plan = new ImportPlan
        {
            Path = path, Map = map, Doubts = doubts, Channels = [], Steps = steps, PartnerSteps = partnerSteps, PartnerPath = partner,
            IsNative = native, Labels = labels, LabelPath = labelPath, HasLabelColumn = column,
        };
        using var rows = plan.Open(new FaultList(path), new FaultList(path));
        return plan.With(rows.Channels);
    }

    private ImportPlan With(IReadOnlyList<ChannelPlan> channels) => new()
    {
        Path = Path, Map = Map, Doubts = Doubts, Channels = channels, Steps = Steps, PartnerSteps = PartnerSteps, PartnerPath = PartnerPath,
        IsNative = IsNative, Labels = Labels, LabelPath = LabelPath, HasLabelColumn = HasLabelColumn,
    };

    private static ImportReading Completed(string path, ImportReading said, List<string> doubts)
    {
        var sample = LogSample.Of(path, said.Format, said.Encoding);
        var reading = said with { Format = sample.Format };
        switch (sample.Format)
        {
            case ImportFormat.Parquet:
                using (var rows = ParquetRowReader.Open(path)) { return ColumnGuess.Complete(path, reading, rows.Names, [], doubts); }
            case ImportFormat.JsonLines:
                return ColumnGuess.Complete(path, reading with { Encoding = sample.Coding }, JsonRows.NamesIn(sample.Lines.Where(l => !string.IsNullOrWhiteSpace(l)).Take(1000)), [], doubts);
            default:
                reading = TextFormGuess.Complete(path, sample, reading, doubts);
                using (var rows = OpenedRows.Open(path, reading, []))
                {
                    var first = new List<string[]>();
                    while (first.Count < 200 && rows.Rows.MoveNext()) { first.Add([.. Enumerable.Range(0, rows.Rows.Count).Select(i => rows.Rows[i].ToString())]); }
                    return ColumnGuess.Complete(path, reading, rows.Header, first, doubts);
                }
        }
    }

    /// <summary>Looks at the first rows for what the numbers say: units that nobody said, and the usual step.</summary>
    private static (ImportReading, StepRule?) Probe(string path, ImportMap map, ImportReading reading, bool main, List<string> doubts)
    {
        bool hasTime = reading.Columns!.Any(c => c.Role == "t");
        bool gyro = reading.Columns!.Any(c => ColumnUse.ChannelNames.Contains(c.Role) && !ColumnUse.IsAcceleration(c.Role));
        bool acceleration = reading.Columns!.Any(c => ColumnUse.ChannelNames.Contains(c.Role) && ColumnUse.IsAcceleration(c.Role));
        if (gyro && reading.Gyro is null) { throw Bad(path, "turning rates without a unit", "a unit", "say --gyro dps, mdps, rad/s, or what one count is, such as '70 mdps'"); }
        if (hasTime && reading.Time is null) { reading = reading with { Time = ScaleGuess.Time(path, FirstStamps(path, reading), doubts) }; }
        var steps = hasTime ? new StepGuess(reading.Time!) : null;
        var magnitudes = new List<double>();
        using (var rows = new LogRows(path, map, reading with { Acceleration = reading.Acceleration ?? new("g"), Gyro = reading.Gyro ?? new("dps") }, main, new FaultList(path)))
        {
            int[] axes = [.. Enumerable.Range(0, rows.Channels.Count).Where(i => ColumnUse.IsAcceleration(rows.Channels[i].Channel))];
            for (int i = 0; i < ScaleGuess.Rows && rows.MoveNext(); i++)
            {
                if (rows.Row.Outcome != RowOutcome.Taken) { continue; }
                steps?.Add(rows.Row);
                if (axes.Length == 3) { magnitudes.Add(Math.Sqrt(axes.Sum(a => rows.Row.Values[a] * rows.Row.Values[a]))); }
            }
        }
        magnitudes.Sort();
        if (acceleration && reading.Acceleration is null)
        {
            reading = reading with { Acceleration = ScaleGuess.Acceleration(path, magnitudes.Count == 0 ? null : magnitudes[magnitudes.Count / 2], doubts) };
        }
        return (reading, steps?.Rule(map.Rate is { } rate ? 1e12 / rate.MilliHertz : null, map.GapNs, map.Resample is not null));
    }

    private static List<string> FirstStamps(string path, ImportReading reading)
    {
        string[] names = [.. reading.Columns!.Select(c => c.Header).OfType<string>()];
        using var file = OpenedRows.Open(path, reading, names);
        var faults = new FaultList(path);
        var layout = RowLayout.Of(reading, file.Header, [], new Dictionary<string, string>(), file.HeaderLine, faults);
        faults.ThrowIfAny();
        var cells = new List<string>();
        while (cells.Count < 2000 && file.Rows.MoveNext())
        {
            if (layout!.Time >= file.Rows.Count) { continue; }
            string cell = NumberText.Bare(file.Rows[layout.Time]).ToString();
            cells.Add(reading.DecimalComma == true ? cell.Replace(',', '.') : cell);
        }
        return cells;
    }

    /// <summary>Names with units as in the native header, and nothing else.</summary>
    private static bool IsNativeForm(ImportReading reading)
    {
        bool Native(ImportColumn c) => c.Header is { } name && NativeHeader.QuantityOf(name) == c.Role;
        return reading.Columns!.All(Native) && reading is { Skip: null or 0, Comment: null or "", DecimalComma: null or false, Separator: null or "comma" }
            && reading.Acceleration?.PerCount is null or 1 && reading.Gyro?.PerCount is null or 1;
    }

    private static NativeCompanions Companions(string path, bool isParquet)
    {
        using var rows = isParquet ? ParquetRowReader.Open(path) : null;
        return new(path, rows?.Metadata);
    }

    private static RecordingInfo Merged(RecordingInfo said, RecordingInfo found) => new()
    {
        RangeG = said.RangeG ?? found.RangeG,
        Source = said.Source ?? found.Source,
        Mounting = said.Mounting ?? found.Mounting,
        Provenance = said.Provenance ?? found.Provenance,
        Licence = said.Licence ?? found.Licence,
        Invented = said.Invented || found.Invented,
    };

    private static void RefuseDoubles(string partner, ImportMap map, bool bothHaveTime)
    {
        string[] channels = [.. map.With!.Reading.Columns!.Select(c => c.Role).Where(ColumnUse.ChannelNames.Contains)];
        if (map.Reading.Columns!.FirstOrDefault(c => channels.Contains(c.Role)) is { } both) { throw Bad(partner, $"{both.Role} in both files", "each quantity once", "say --columns of the second file in its map"); }
        if (map.With.Join == ImportJoin.Time && !bothHaveTime) { throw Bad(partner, "two files joined by time, not both of which have a column t", "a column t in both", "join by row"); }
    }

    private static BadInputException Bad(string path, string found, string expected, string remedy) => new([new Fault(path, 0, 0, found, expected, remedy)]);
}
