using HilRunner.Core.Recordings.Parquet;

namespace HilRunner.Core.Recordings.Import;

/// <summary>What a block's class changes to, and where.</summary>
/// <param name="Sample">0-based, of the block.</param>
internal readonly record struct LabelChange(long Sample, long Ns, string Class);

/// <summary>What the first pass finds of one block.</summary>
internal sealed class BlockSurvey
{
    public required ImportBlock Block { get; init; }
    public required int FirstLine { get; init; }
    public required long FirstRow { get; init; }
    public required long FirstNs { get; init; }
    public int LastLine { get; set; }
    public long LastRow { get; set; }
    public long Samples { get; set; }
    public EvenTimes? Times { get; set; }
    public double MagnitudeSum { get; set; }
    public List<LabelChange> Changes { get; } = [];
    /// <summary>Of the stamps and the channels; null where the numbers' form does not matter.</summary>
    public NumberForm? TimeForm { get; init; }
    public NumberForm[]? Forms { get; init; }
    /// <summary>The block's rows follow one another in the file, without others between.</summary>
    public bool IsWhole => LastRow - FirstRow + 1 == Samples;
}

/// <summary>The first pass: measures every block.</summary>
internal sealed class SurveyTarget(string path, IReadOnlyList<ChannelPlan> channels, bool hasTime, bool hasLabel, long resolutionNs, bool forms) : IBlockTarget
{
    /// <summary>Most changes of class in one recording.</summary>
    private const int MostChanges = LabelTable.MostLabels;

    private readonly int[] _acceleration = [.. Enumerable.Range(0, channels.Count).Where(i => ColumnUse.IsAcceleration(channels[i].Channel))];
    private readonly Dictionary<int, BlockSurvey> _open = [];
    private BlockSurvey? _current;

    /// <summary>By index.</summary>
    public List<BlockSurvey> Blocks { get; } = [];

    public void Begin(ImportBlock block, ImportRow first)
    {
        var survey = new BlockSurvey
        {
            Block = block,
            FirstLine = first.Line,
            FirstRow = first.Number,
            FirstNs = first.Ns,
            Times = hasTime ? new EvenTimes(resolutionNs) : null,
            TimeForm = forms && hasTime ? new NumberForm() : null,
            Forms = forms ? [.. channels.Select(_ => new NumberForm())] : null,
        };
        Blocks.Add(survey);
        _open.Add(block.Index, survey);
        _current = survey;
    }

    public void Row(ImportBlock block, ImportRow row)
    {
        if (_current?.Block != block) { _current = _open[block.Index]; }
        var survey = _current!;
        survey.Times?.Add(row.Ns, row.Line);
        if (hasLabel && (survey.Changes.Count == 0 || survey.Changes[^1].Class != row.Label))
        {
            if (survey.Changes.Count == MostChanges)
            {
                throw new BadInputException([new Fault(path, row.Line, 0, $"more than {MostChanges} changes of class", "a column of classes", "choose another column for label")]);
            }
            survey.Changes.Add(new(survey.Samples, row.Ns, row.Label));
        }
        double square = 0;
        foreach (int i in _acceleration)
        {
            double g = channels[i].ToBase.ToUnit(row.Values[i]);
            square += g * g;
        }
        survey.MagnitudeSum += Math.Sqrt(square);
        if (survey.Forms is { } shapes)
        {
            for (int i = 0; i < shapes.Length; i++) { shapes[i].Add(row.Text(i), row.Values[i]); }
            survey.TimeForm?.Add(row.TimeText, 0);
        }
        survey.Samples++;
        survey.LastLine = row.Line;
        survey.LastRow = row.Number;
    }

    public void End(ImportBlock block)
    {
        _open.Remove(block.Index);
        _current = null;
    }
}
