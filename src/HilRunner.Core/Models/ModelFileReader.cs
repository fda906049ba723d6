using HilRunner.Core.Documents;

namespace HilRunner.Core.Models;

/// <summary>
/// Makes the model of what its file says, and holds the parts of the file against each other. All faults come at once.
/// </summary>
internal sealed class ModelFileReader
{
    public const int MostLevels = 32, MostNodes = 1023;
    private const int MostEventSamples = 100_000, MostQuietSamples = 1_000_000;

    private readonly ModelDraft _draft;
    private readonly MapNode _root;
    private readonly Reading _reading;
    private readonly List<TreeNode> _tree = [];
    private readonly List<string> _series;
    private bool _tooLarge;

    private ModelFileReader(ModelDraft draft, MapNode root, Reading reading)
    {
        (_draft, _root, _reading) = (draft, root, reading);
        _series = Feature.SeriesNames(draft.Input.Channels.Select(c => c.Name));
    }

    /// <param name="path">For messages.</param>
    /// <exception cref="BadInputException">The text is no model: holds every fault found.</exception>
    public static MotionModel Read(string text, string path) =>
        DocumentReader.Parse(
            ModelShape.Shape.Select((draft, root, reading) => new ModelFileReader(draft, (MapNode)root, reading).Model()),
            text, path);

    private MotionModel Model()
    {
        for (int i = 0; i < _draft.Classes.Count; i++)
        {
            if (_draft.Classes.Take(i).Contains(_draft.Classes[i]))
            {
                _reading.Refuse(_root.At("classes", i), $"{_draft.Classes[i]} a second time", "each class once");
            }
        }
        int window = Samples(_draft.WindowNs, _root.At("window"), 2, MotionModel.MaxWindow);
        int hop = Samples(_draft.HopNs, _root.At("hop"), 1, Math.Max(window, 1));
        AddTree(_draft.Tree, 1);
        return new()
        {
            Name = _draft.Name,
            Rate = _draft.Input.Rate,
            Channels = _draft.Input.Channels,
            Classes = _draft.Classes,
            Window = window,
            Hop = hop,
            Tree = _tree,
            Confirm = Confirm(),
            Events = [.. _draft.Events.Select(Event)],
        };
    }

    private int AddTree(TreeDraft node, int depth)
    {
        int index = _tree.Count;
        if (depth > MostLevels || index >= MostNodes)
        {
            if (!_tooLarge)
            {
                _reading.Refuse(node.At, "one level or node more",
                    FormattableString.Invariant($"at most {MostLevels} levels and {MostNodes} nodes"));
            }
            _tooLarge = true;
            return 0;
        }
        _tree.Add(default);
        if (node.Class is { } name)
        {
            _tree[index] = new(default, 0, 0, 0, Code(name, node.At.At("class")), node.Confidence);
            return index;
        }
        Feature feature = FeatureOf(node);
        int then = AddTree(node.Then!, depth + 1), otherwise = AddTree(node.Else!, depth + 1);
        _tree[index] = new(feature, node.Below, then, otherwise, -1, 0) { Hysteresis = node.Hysteresis };
        return index;
    }

    private Feature FeatureOf(TreeDraft node)
    {
        if (Feature.TryParse(node.Feature!, _series, out Feature feature)) { return feature; }
        string statistics = string.Join(", ", Enum.GetNames<FeatureStatistic>().Select(n => n.ToLowerInvariant()));
        Node at = node.At.At("feature");
        _reading.Refuse(
            at, at.Shown, $"statistic(series), statistic one of {statistics}; series one of {string.Join(", ", _series)}, main");
        return feature;
    }

    private int Code(string name, Node at)
    {
        int code = _draft.Classes.ToList().IndexOf(name);
        if (code >= 0) { return code; }
        string? near = EditDistance.Nearest(name, _draft.Classes);
        _reading.Refuse(at, at.Shown, "one of the classes: " + string.Join(", ", _draft.Classes),
            near is null ? "" : $"did you mean {near}?");
        return 0;
    }

    private int[] Confirm()
    {
        int[] confirm = new int[_draft.Classes.Count];
        Array.Fill(confirm, 1);
        foreach (var (key, windows) in _draft.Confirm?.Own ?? [])
        {
            int code = _draft.Classes.ToList().IndexOf(key.Text);
            if (code >= 0) { confirm[code] = windows; }
            else
            {
                string? near = EditDistance.Nearest(key.Text, _draft.Classes);
                _reading.Faults.Add(key, $"the key {key.Shown} in confirm",
                    "one of the classes: " + string.Join(", ", _draft.Classes), near is null ? "" : $"did you mean {near}?");
            }
        }
        return confirm;
    }

    private EventRule Event(EventDraft rule) => new(
        Code(rule.Class, rule.NodeOf("class")), rule.Confidence, Counts(rule.BelowG, rule.NodeOf("below")),
        Samples(rule.ForNs, rule.NodeOf("for"), 1, MostEventSamples), Counts(rule.AboveG, rule.NodeOf("above")),
        Samples(rule.WithinNs, rule.NodeOf("within"), 1, MostEventSamples),
        Samples(rule.QuietNs, rule.NodeOf("quiet"), 0, MostQuietSamples));

    /// <summary>An acceleration in whole counts, rounded half to even.</summary>
    private int Counts(double g, Node at)
    {
        double counts = Math.Round(g / _draft.Input.Channels.First(c => c.Name == "ax").UnitsPerCount);
        if (counts <= ushort.MaxValue) { return (int)counts; }
        _reading.Refuse(at, at.Shown, $"an acceleration of at most {ushort.MaxValue} counts");
        return 0;
    }

    /// <summary>A duration that is a whole number of samples.</summary>
    private int Samples(decimal ns, Node at, int least, int most)
    {
        decimal samples = ns * _draft.Input.Rate.MilliHertz / 1_000_000_000_000m;
        if (samples >= least && samples <= most && samples == decimal.Truncate(samples)) { return (int)samples; }
        _reading.Refuse(at, at.Shown,
            FormattableString.Invariant($"a whole number of samples at {_draft.Input.Rate}, {least} to {most} of them"));
        return least;
    }
}
