// A classifier in an ONNX file as a host model: speaks as the built-in device does, on stdin and stdout. README.md beside this file says what the network must take and give.
//
//     dotnet build rigs/onnx/OnnxModel.cs -o onnx-model
//     hil reproduce LOG --rig RIG --host-program "onnx-model/OnnxModel NET.onnx --classes resting,carried --rate 100 --window 128 --hop 25"

#:package Microsoft.ML.OnnxRuntime@1.31.1
#:property PublishAot=false
#:property ManagePackageVersionsCentrally=false

using System.Diagnostics;
using System.Globalization;
using Microsoft.ML.OnnxRuntime;
using Microsoft.ML.OnnxRuntime.Tensors;

Arguments given;
Network network;
try
{
    given = Arguments.Parse(args);
    network = Network.Open(given);
}
catch (Exception fault) when (fault is FormatException or OnnxRuntimeException or IOException)
{
    Console.Error.WriteLine($"OnnxModel: {fault.Message}");
    return fault is FormatException ? 64 : 65;
}
using (network)
{
    var device = new Device(given, network, Console.OpenStandardOutput());
    device.Boot();
    while (Console.In.ReadLine() is { } line) { device.Hear(line); }
}
return 0;

/// <summary>What the network is, as far as its file does not say it.</summary>
internal sealed record Arguments(string Path, string[] Classes, double RateHz, int Window, int Hop, int Channels, double PerCount, double GyroPerCount, int Confirm, bool SamplesFirst)
{
    private const string Usage = "OnnxModel NET.onnx --classes A,B,… --rate HZ --window SAMPLES --hop SAMPLES [--channels 3|6] [--count G] [--gyro-count DPS] [--confirm N] [--order samples|channels]";

    public static Arguments Parse(string[] args)
    {
        if (args.Length == 0 || args[0].StartsWith('-') || args.Length % 2 == 0) { throw new FormatException($"usage: {Usage}"); }
        var options = new Dictionary<string, string>();
        for (int i = 1; i < args.Length; i += 2) { options[args[i]] = args[i + 1]; }
        string[] known = ["--classes", "--rate", "--window", "--hop", "--channels", "--count", "--gyro-count", "--confirm", "--order"];
        if (options.Keys.FirstOrDefault(k => !known.Contains(k)) is { } unknown) { throw new FormatException($"unknown option {unknown}; usage: {Usage}"); }
        double Number(string key, double? otherwise, double least) =>
            !options.TryGetValue(key, out string? text) ? otherwise ?? throw new FormatException($"{key} is missing; usage: {Usage}")
            : double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && value >= least ? value : throw new FormatException($"{key} {text}: expected a number of {least} or more");
        string[] classes = options.TryGetValue("--classes", out string? names) ? names.Split(',') : throw new FormatException($"--classes is missing; usage: {Usage}");
        string order = options.GetValueOrDefault("--order", "samples");
        if (order is not ("samples" or "channels")) { throw new FormatException($"--order {order}: expected samples or channels"); }
        int channels = (int)Number("--channels", 3, 3);
        if (channels is not (3 or 6)) { throw new FormatException($"--channels {channels}: expected 3 or 6"); }
        return new(args[0], classes, Number("--rate", null, 0.001), (int)Number("--window", null, 1), (int)Number("--hop", null, 1), channels, Number("--count", 0.001, 1e-9), Number("--gyro-count", 0.1, 1e-9), (int)Number("--confirm", 1, 1), order == "samples");
    }
}

/// <summary>The network: a window in, the place of the greatest score out.</summary>
internal sealed class Network(InferenceSession session, Arguments given, string input, int[] shape) : IDisposable
{
    public static Network Open(Arguments given)
    {
        var session = new InferenceSession(given.Path, new SessionOptions { IntraOpNumThreads = 1, ExecutionMode = ExecutionMode.ORT_SEQUENTIAL });
        if (session.InputMetadata.Count != 1) { throw new FormatException($"{given.Path} has {session.InputMetadata.Count} inputs; expected one, a window"); }
        var (name, meta) = session.InputMetadata.First();
        int values = given.Window * given.Channels;
        if (meta.ElementType != typeof(float)) { throw new FormatException($"{given.Path}: input {name} takes {meta.ElementType.Name}; expected float32"); }
        // A size that the file leaves open is 1; the window is laid into whatever shape holds just as many values.
        int[] shape = [.. meta.Dimensions.Select(d => d < 1 ? 1 : d)];
        if (shape.Aggregate(1, (a, b) => a * b) != values)
        {
            throw new FormatException($"{given.Path}: input {name} is {string.Join(" × ", meta.Dimensions)}; expected {values} values: {given.Window} samples of {given.Channels} channels");
        }
        return new(session, given, name, shape);
    }

    /// <param name="window">[sample][channel], in g and °/s.</param>
    public (int Class, double Confidence) Classify(IReadOnlyList<float[]> window)
    {
        float[] flat = new float[given.Window * given.Channels];
        for (int s = 0; s < given.Window; s++)
        {
            for (int c = 0; c < given.Channels; c++) { flat[given.SamplesFirst ? s * given.Channels + c : c * given.Window + s] = window[s][c]; }
        }
        using var results = session.Run([NamedOnnxValue.CreateFromTensor(input, new DenseTensor<float>(flat, shape))]);
        float[]? scores = results.Select(r => r.Value as Tensor<float>).FirstOrDefault(t => t is not null && t.Length == given.Classes.Length)?.ToArray();
        if (scores is null)
        {
            var label = results.Select(r => r.Value as Tensor<long>).FirstOrDefault(t => t is { Length: 1 }) ?? throw new FormatException($"{given.Path} gives neither {given.Classes.Length} scores (float32) nor a label (int64)");
            return ((int)label.First(), 1);
        }
        int best = Array.IndexOf(scores, scores.Max());
        // Scores that are no shares are made shares of (softmax); the class does not depend on it.
        bool shares = scores.All(s => s is >= 0 and <= 1) && Math.Abs(scores.Sum() - 1) < 1e-3;
        return (best, shares ? scores[best] : 1 / scores.Sum(s => Math.Exp(s - scores[best])));
    }

    public void Dispose() => session.Dispose();
}

/// <summary>The built-in device's text lines, as src/HilRunner.Device/README.md has them; credit for 256 samples.</summary>
internal sealed class Device(Arguments given, Network network, Stream output)
{
    private const int CreditEvery = 64;
    private readonly List<float[]> _window = [];
    private readonly long _booted = Stopwatch.GetTimestamp();
    private int _untilWindow, _candidate = -1, _runs, _current = -1;
    private long _last = -1, _credited = -1;
    private bool _running;

    public void Boot()
    {
        Forget();
        _running = false;
        Say("boot 1.0.0");
    }

    public void Hear(string line)
    {
        string[] words = line.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        switch (words)
        {
            case ["begin", { } rate]:
                Forget();
                _running = long.TryParse(rate, CultureInfo.InvariantCulture, out long milliHertz) && Math.Abs(milliHertz / 1000.0 - given.RateHz) < 1e-3 * given.RateHz;
                if (!_running) { Say("e 4 rate"); }
                break;
            case ["s", { } number, .. var counts] when _running && counts.Length == given.Channels && long.TryParse(number, CultureInfo.InvariantCulture, out long n): Feel(n, counts); break;
            case ["end"]:
                if (_running && _credited < _last) { Say($"k {_credited = _last}"); }
                _running = false;
                break;
            case ["stream", _]: break;
            case ["id"]: Say("id onnx-model 1.0.0"); break;
            case ["t", { } token]: Say($"t {token} {Microseconds}"); break;
            case ["st"]: Say(_current < 0 ? "st none" : $"st {_last} {given.Classes[_current]} {Microseconds}"); break;
            case ["reset"]: Boot(); break;
            case []: break;
            default: Say("e 1 unknown"); break;
        }
    }

    private void Feel(long n, string[] counts)
    {
        _last = n;
        _window.Add([.. counts.Select((text, c) => (float)(long.Parse(text, CultureInfo.InvariantCulture) * (c < 3 ? given.PerCount : given.GyroPerCount)))]);
        if (_window.Count > given.Window) { _window.RemoveAt(0); }
        if (_window.Count == given.Window && --_untilWindow <= 0)
        {
            _untilWindow = given.Hop;
            var (found, confidence) = network.Classify(_window);
            (_candidate, _runs) = found == _candidate ? (_candidate, _runs + 1) : (found, 1);
            if (_runs >= given.Confirm && found != _current)
            {
                _current = found;
                Say(string.Create(CultureInfo.InvariantCulture, $"c {n} {given.Classes[found]} {Microseconds} {confidence:0.000}"));
            }
        }
        if (n - _credited >= CreditEvery) { Say($"k {_credited = n}"); }
    }

    private void Forget()
    {
        _window.Clear();
        (_untilWindow, _candidate, _runs, _current, _last, _credited) = (1, -1, 0, -1, -1, -1);
    }

    private uint Microseconds => unchecked((uint)(Stopwatch.GetElapsedTime(_booted).Ticks / 10));

    private void Say(string line)
    {
        output.Write(System.Text.Encoding.ASCII.GetBytes(line + "\n"));
        output.Flush();
    }
}
