using HilRunner.Core.Time;
using YamlDotNet.RepresentationModel;

namespace HilRunner.Core.Models;

/// <summary>Reads a model file and reports all its faults at once.</summary>
internal sealed class ModelFileReader(string path)
{
    private const int MaxDepth = 32;
    private const int MaxNodes = 1023;
    private const int MaxClasses = 64;
    private static readonly string[] KnownChannels = ["ax", "ay", "az", "gx", "gy", "gz"];

    private readonly ModelYaml _yaml = new(path);
    private readonly List<TreeNode> _tree = [];
    private List<string> _classes = [];
    private List<ModelChannel> _channels = [];
    private List<string> _series = [];
    private SampleRate _rate = new(1000);

    public MotionModel Read(string text)
    {
        YamlMappingNode root = _yaml.Load(text);
        _yaml.Keys(root, ["model", "classes", "input", "window", "hop", "tree", "confirm", "events"], optional: ["confirm", "events"]);
        string name = _yaml.Text(root, "model");
        ReadClasses(root);
        ReadInput(root);
        int window = _yaml.Samples(root, "window", _rate, 2, MotionModel.MaxWindow);
        int hop = _yaml.Samples(root, "hop", _rate, 1, Math.Max(window, 1));
        if (ModelYaml.Child(root, "tree") is { } tree) { ReadTree(tree, 1); }
        int[] confirm = ReadConfirm(root);
        List<EventRule> events = ReadEvents(root);
        _yaml.ThrowIfFaulty();
        return new()
        {
            Name = name,
            Rate = _rate,
            Channels = _channels,
            Classes = _classes,
            Window = window,
            Hop = hop,
            Tree = _tree,
            Confirm = confirm,
            Events = events,
        };
    }

    private void ReadClasses(YamlMappingNode root)
    {
        foreach (YamlScalarNode item in _yaml.Sequence(root, "classes", 1, MaxClasses).OfType<YamlScalarNode>())
        {
            string name = item.Value ?? "";
            if (name.Length == 0 || name.Any(c => !char.IsAsciiLetterOrDigit(c) && c != '_') || _classes.Contains(name))
            {
                _yaml.Fault(item, $"class '{name}'", "a name of letters, digits and _, each once");
            }
            _classes.Add(name);
        }
    }

    private void ReadInput(YamlMappingNode root)
    {
        if (_yaml.Map(root, "input") is not { } input) { return; }
        _yaml.Keys(input, ["rate", "channels"]);
        _rate = _yaml.Rate(input, "rate");
        if (_yaml.Map(input, "channels") is not { } channels) { return; }
        foreach ((YamlNode key, YamlNode value) in channels.Children)
        {
            string name = key.ToString();
            if (!KnownChannels.Contains(name)) { _yaml.Fault(key, $"channel '{name}'", string.Join(", ", KnownChannels)); }
            _channels.Add(new(name, name[0] == 'g' ? _yaml.AngularRate(value) : _yaml.Acceleration(value)));
        }
        if (_channels.Count(c => c.Name is "ax" or "ay" or "az") != 3)
        {
            _yaml.Fault(channels, "channels " + string.Join(", ", _channels.Select(c => c.Name)), "at least ax, ay and az");
        }
        else if (_channels.Where(c => c.Name[0] == 'a').Select(c => c.UnitsPerCount).Distinct().Count() > 1)
        {
            _yaml.Fault(channels, "ax, ay and az with different counts", "one scale for all three", "|a| is made of all three");
        }
        _series = Feature.SeriesNames(_channels.Select(c => c.Name));
    }

    private int ReadTree(YamlNode node, int depth)
    {
        int index = _tree.Count;
        if (depth > MaxDepth || index >= MaxNodes)
        {
            _yaml.Fault(node, "a larger tree", FormattableString.Invariant($"at most {MaxDepth} levels and {MaxNodes} nodes"));
            return 0;
        }
        _tree.Add(default);
        if (_yaml.AsMap(node, "a question or a leaf") is not { } map) { return index; }
        if (ModelYaml.Child(map, "class") is not null)
        {
            _yaml.Keys(map, ["class", "confidence"], optional: ["confidence"]);
            _tree[index] = new(default, 0, 0, 0, ReadClass(map), _yaml.Share(map, "confidence"));
            return index;
        }
        _yaml.Keys(map, ["feature", "below", "hysteresis", "then", "else"], optional: ["hysteresis"]);
        Feature feature = ReadFeature(map);
        int below = _yaml.Integer(map, "below", -1_000_000, 1_000_000);
        int hysteresis = ModelYaml.Child(map, "hysteresis") is null ? 0 : _yaml.Integer(map, "hysteresis", 0, 1_000_000);
        int then = ModelYaml.Child(map, "then") is { } yes ? ReadTree(yes, depth + 1) : 0;
        int otherwise = ModelYaml.Child(map, "else") is { } no ? ReadTree(no, depth + 1) : 0;
        _tree[index] = new(feature, below, then, otherwise, -1, 0) { Hysteresis = hysteresis };
        return index;
    }

    private Feature ReadFeature(YamlMappingNode map)
    {
        string text = _yaml.Text(map, "feature");
        if (Feature.TryParse(text, _series, out Feature feature) || text.Length == 0) { return feature; }
        string statistics = string.Join(", ", Enum.GetNames<FeatureStatistic>().Select(n => n.ToLowerInvariant()));
        _yaml.Fault(ModelYaml.Child(map, "feature")!, $"feature '{text}'",
            $"statistic(series), statistic one of {statistics}; series one of {string.Join(", ", _series)}, main");
        return feature;
    }

    private int ReadClass(YamlMappingNode map)
    {
        string name = _yaml.Text(map, "class");
        int code = _classes.IndexOf(name);
        if (code < 0 && name.Length != 0)
        {
            _yaml.Fault(ModelYaml.Child(map, "class")!, $"class '{name}'", "one of the classes: " + string.Join(", ", _classes));
        }
        return Math.Max(code, 0);
    }

    private int[] ReadConfirm(YamlMappingNode root)
    {
        int[] confirm = new int[_classes.Count];
        Array.Fill(confirm, 1);
        if (ModelYaml.Child(root, "confirm") is null || _yaml.Map(root, "confirm") is not { } map) { return confirm; }
        _yaml.Keys(map, [.. _classes], optional: [.. _classes]);
        for (int code = 0; code < confirm.Length; code++)
        {
            if (ModelYaml.Child(map, _classes[code]) is not null) { confirm[code] = _yaml.Integer(map, _classes[code], 1, 1000); }
        }
        return confirm;
    }

    private List<EventRule> ReadEvents(YamlMappingNode root)
    {
        List<EventRule> rules = [];
        if (ModelYaml.Child(root, "events") is null) { return rules; }
        double gPerCount = _channels.FirstOrDefault(c => c.Name == "ax").UnitsPerCount;
        foreach (YamlNode item in _yaml.Sequence(root, "events", 1, 8))
        {
            if (_yaml.AsMap(item, "an event rule") is not { } map) { continue; }
            _yaml.Keys(map, ["class", "confidence", "below", "for", "above", "within", "quiet"], optional: ["confidence"]);
            int below = _yaml.Counts(map, "below", gPerCount);
            int above = _yaml.Counts(map, "above", gPerCount);
            if (above < below) { _yaml.Fault(map, "above less than below", "an impact above the free fall"); }
            rules.Add(new(ReadClass(map), _yaml.Share(map, "confidence"), below, _yaml.Samples(map, "for", _rate, 1, 100_000),
                above, _yaml.Samples(map, "within", _rate, 1, 100_000), _yaml.Samples(map, "quiet", _rate, 0, 1_000_000)));
        }
        return rules;
    }
}
