namespace HilRunner.Core.Models;

/// <summary>
/// Runs a <see cref="MotionModel"/> over samples, one at a time, and reports changes of class and events. The same samples
/// after <see cref="Reset"/> give the same decisions, on every machine. Not safe for several threads; allocates nothing in
/// <see cref="Push"/>.
/// </summary>
public sealed class ModelRunner
{
    private readonly MotionModel _model;
    private readonly TreeNode[] _tree;
    private readonly EventRule[] _rules;
    private readonly EventState[] _ruleStates;
    private readonly int[] _axes;
    private readonly int[] _gyroAxes;
    private readonly int _magnitude;
    // Every value is written twice, a window apart, so that the latest window always lies in one piece.
    private readonly int[][] _series;
    private readonly WindowStatistics[] _statistics;
    private readonly bool[] _known;
    // By node: whether its question was answered with the else branch when it was last asked.
    private readonly bool[] _above;
    private int _position;
    private int _filled;
    private int _untilWindow;
    private int _candidate;
    private int _candidateRuns;
    private int _current;
    private double _currentConfidence;

    public ModelRunner(MotionModel model)
    {
        _model = model;
        _tree = [.. model.Tree];
        _rules = [.. model.Events];
        _ruleStates = new EventState[_rules.Length];
        List<string> names = [.. model.Channels.Select(c => c.Name)];
        _axes = [names.IndexOf("ax"), names.IndexOf("ay"), names.IndexOf("az")];
        int[] gyro = [names.IndexOf("gx"), names.IndexOf("gy"), names.IndexOf("gz")];
        _gyroAxes = gyro.Contains(-1) ? [] : gyro;
        _magnitude = names.Count;
        int seriesCount = Feature.SeriesNames(names).Count;
        _series = new int[seriesCount][];
        for (int i = 0; i < seriesCount; i++) { _series[i] = new int[2 * model.Window]; }
        _statistics = new WindowStatistics[seriesCount];
        _known = new bool[seriesCount];
        _above = new bool[_tree.Length];
        Reset();
    }

    /// <summary>The class reported last, null before the first report. Events are no classes in this sense.</summary>
    public string? Current => _current < 0 ? null : _model.Classes[_current];

    /// <summary>Confidence of the leaf that led to <see cref="Current"/>.</summary>
    public double CurrentConfidence => _currentConfidence;

    /// <summary>Forgets everything: as after a start.</summary>
    public void Reset()
    {
        Array.Clear(_ruleStates);
        Array.Clear(_above);
        RestartWindow();
        _position = 0;
        _current = -1;
        _currentConfidence = 0;
    }

    /// <summary>
    /// Takes one sample: at most one decision comes of it. An event starts the window anew, so that no class is reported until
    /// a whole window has been seen after it.
    /// </summary>
    /// <param name="n">Number of the sample, only echoed in the decision.</param>
    /// <param name="counts">One value per channel of the model, in its order; beyond ±32767 they are cut.</param>
    /// <returns>True when there is a decision.</returns>
    public bool Push(long n, ReadOnlySpan<int> counts, out ModelDecision decision)
    {
        Store(counts);
        bool due = Looked = Advance();
        if (TryEvent(n, out decision))
        {
            // A window that holds a fall and an impact says nothing about the state before or after.
            RestartWindow();
            return true;
        }
        if (!due || !Confirmed(Classify(out double confidence))) { return false; }
        _current = _candidate;
        _currentConfidence = confidence;
        decision = new(n, _model.Classes[_current], _currentConfidence, IsEvent: false);
        return true;
    }

    /// <summary>Whether the latest sample ended a window that was classified.</summary>
    public bool Looked { get; private set; }

    /// <summary>Samples in the window so far; the window's length once it is full.</summary>
    internal int Filled => _filled;

    /// <summary>The value of a feature in the latest window; only when a window's worth of samples has been seen.</summary>
    public int Value(Feature feature)
    {
        int series = feature.Series == Feature.MainAxis ? MainAxis() : feature.Series;
        return Statistics(series).Value(feature.Statistic);
    }

    /// <summary>What a question's feature is held against now; what it answered in the latest window that asked it is part of that.</summary>
    internal int Threshold(int node) => _tree[node].Below - (_above[node] ? _tree[node].Hysteresis : 0);

    private void Store(ReadOnlySpan<int> counts)
    {
        for (int channel = 0; channel < _magnitude; channel++)
        {
            Put(channel, Math.Clamp(counts[channel], -MotionModel.MaxCount, MotionModel.MaxCount));
        }
        Put(_magnitude, Length(_axes));
        if (_gyroAxes.Length != 0) { Put(_magnitude + 1, Length(_gyroAxes)); }
        Array.Clear(_known);
    }

    private void Put(int series, int value)
    {
        _series[series][_position] = value;
        _series[series][_position + _model.Window] = value;
    }

    private int Length(int[] axes)
    {
        ulong squares = 0;
        foreach (int axis in axes)
        {
            long value = _series[axis][_position];
            squares += (ulong)(value * value);
        }
        return (int)IntegerRoot.Floor(squares);
    }

    private bool Advance()
    {
        _position = (_position + 1) % _model.Window;
        _filled = Math.Min(_filled + 1, _model.Window);
        if (_filled < _model.Window) { return false; }
        if (--_untilWindow > 0) { return false; }
        _untilWindow = _model.Hop;
        return true;
    }

    private void RestartWindow()
    {
        _filled = 0;
        _untilWindow = 1;
        _candidate = -1;
        _candidateRuns = 0;
    }

    private bool TryEvent(long n, out ModelDecision decision)
    {
        int latest = (_position == 0 ? _model.Window : _position) - 1;
        int magnitude = _series[_magnitude][latest];
        bool found = false;
        decision = default;
        for (int i = 0; i < _rules.Length; i++)
        {
            if (!_ruleStates[i].Step(_rules[i], magnitude) || found) { continue; }
            decision = new(n, _model.Classes[_rules[i].Class], _rules[i].Confidence, IsEvent: true);
            found = true;
        }
        return found;
    }

    private int Classify(out double confidence)
    {
        int node = 0;
        while (!_tree[node].IsLeaf)
        {
            _above[node] = Value(_tree[node].Feature) >= Threshold(node);
            node = _above[node] ? _tree[node].Else : _tree[node].Then;
        }
        confidence = _tree[node].Confidence;
        return _tree[node].Class;
    }

    private bool Confirmed(int found)
    {
        if (found != _candidate)
        {
            _candidate = found;
            _candidateRuns = 0;
        }
        int needed = _model.Confirm[found];
        _candidateRuns = Math.Min(_candidateRuns + 1, needed);
        return _candidateRuns == needed && found != _current;
    }

    private ref readonly WindowStatistics Statistics(int series)
    {
        if (!_known[series])
        {
            _statistics[series] = WindowStatistics.Of(_series[series].AsSpan(_position, _model.Window));
            _known[series] = true;
        }
        return ref _statistics[series];
    }

    private int MainAxis()
    {
        int main = _axes[0];
        for (int i = 1; i < _axes.Length; i++)
        {
            if (Statistics(_axes[i]).Deviation > Statistics(main).Deviation) { main = _axes[i]; }
        }
        return main;
    }

    private struct EventState
    {
        private int _low;
        private int _wait;
        private int _quiet;

        public bool Step(EventRule rule, int magnitude)
        {
            if (_quiet > 0)
            {
                _quiet--;
                return false;
            }
            _low = magnitude < rule.Below ? Math.Min(_low + 1, rule.For) : 0;
            if (_low == rule.For)
            {
                _wait = rule.Within;
                return false;
            }
            if (_wait == 0) { return false; }
            _wait--;
            if (magnitude <= rule.Above) { return false; }
            _wait = 0;
            _quiet = rule.Quiet;
            return true;
        }
    }
}
