using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using HilRunner.Application.Benches;
using HilRunner.Application.HostModels;
using HilRunner.Application.Playing;
using HilRunner.Application.Stored;
using HilRunner.Core.Numerics;
using HilRunner.Core.Statistics;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Reporting;
using HilRunner.Scoring;
using HilRunner.Scoring.Isolating;

namespace HilRunner.Application.Reproducing;

/// <summary>
/// A complaint from a customer's log to a scenario that guards against it: import, cut, play, attribute, shrink, bisect, keep. The case's folder holds every play, and case.json says after each stage
/// how far it is.
/// </summary>
internal sealed class ReproduceJob : IDisposable
{
    public const string CaseFile = "case.json", Page = RunFiles.Report;
    private const long AfterNs = 500_000_000, LeastRunInNs = 5_000_000_000, MostRunInNs = 320_000_000_000;
    private readonly JobContext _context;
    private readonly ReproduceOrder _order;
    private readonly PlayedRig _on;
    private Symptom _symptom;
    private readonly HostModel? _model;
    private readonly string _speed;
    private readonly BuildList? _builds;
    private readonly IPlayView _view;
    private readonly Answers _answers;
    private readonly Budget _budget;
    private readonly List<string> _notes = [];
    private readonly List<string> _evidence = [];
    private CasePlayer? _player;
    private IHostOpinion? _host;
    private string? _prepared;
    private int _players, _documents;

    private ReproduceJob(
        JobContext context, IPlayView view, ReproduceOrder order, PlayedRig on, Symptom symptom, HostModel? model,
        BuildList? builds, string speed, string folder, string key)
    {
        (_context, _view) = (context, view);
        (_order, _on, _symptom, _model, _builds, _speed, Folder) = (order, on, symptom, model, builds, speed, folder);
        if (builds is not null) { builds.Folder = Path.Combine(folder, "images"); }
        _answers = new(Path.Combine(folder, "answers.csv"));
        _budget = new(context.Clock.Provider, order.MostPlays, order.MostTime);
        Case = new()
        {
            Name = order.Name, Begun = context.Now, ToolVersion = context.Version, Key = key, Log = order.Anonymise ? ""
                : Path.GetFileName(order.Log),
            LogSha256 = order.Anonymise ? "" : FileHash.Sha256(order.Log), Complaint = "", Expected = symptom.Expected, Reported = order.Reported, Rig = on.Rig.Name,
            Build = order.Build ?? Path.GetFileName(order.Image) ?? _builds?.Names[^1] ?? "as it is on the rig",
        };
    }

    public string Folder { get; }

    public Case Case { get; private set; }

    /// <summary>Reads and checks everything before anything is played.</summary>
    /// <exception cref="BadInputException">Every fault of every file.</exception>
    /// <exception cref="UsageException">The command line asks for what cannot be.</exception>
    public static ReproduceJob Of(JobContext context, IPlayView view, ReproduceOrder order)
    {
        if (File.Exists(order.Out)) { throw new UsageException($"--out {order.Out}: is a file; expected a folder, or a name that is free"); }
        if (order.Image is { } image && !File.Exists(image)) { throw new BadInputException([new(image, 0, 0, "no such file", "the firmware image")]); }
        var own = RigFiles.Read([order.Rig], null)[0];
        var on = order.Link is null ? own : RigFiles.Read([order.Rig], order.Link)[0];
        var outputs = on.Rig.Device.Outputs;
        string output = order.Output ?? (outputs.Count == 1 ? outputs[0] : throw new UsageException($"rig {on.Rig.Name} has {outputs.Count} outputs: say --output, one of {string.Join(", ", outputs)}"));
        if (!outputs.Contains(output)) { throw new UsageException($"--output {output}: rig {on.Rig.Name} has {string.Join(", ", outputs)}"); }
        string? modelPath = order.Model ?? (order.Program is null && own.Rig.Device.Link is BuiltinLinkSpec builtin ? builtin.Options.Model : null);
        if (modelPath is not null && Path.GetExtension(modelPath) == ".onnx") { throw new UsageException($"--host-model {modelPath}: a network runs in a program of its own: --host-program, and rigs/onnx/README.md says how"); }
        var model = modelPath is null ? null : HostModel.Read(modelPath, on.Rig, output);
        IReadOnlyList<string> classes = [.. on.Rig.Device.Classes.Values.Concat(model?.Classes ?? []).Distinct()];
        var events = order.Events.Concat(model?.Events ?? new HashSet<string>()).ToHashSet(StringComparer.Ordinal);
        foreach (var (option, name) in new[] { ("--expected", order.Expected), ("--reported", order.Reported) }.Concat(order.Events.Select(e => ("--event", (string?)e))))
        {
            if (name is not null && classes.Count > 0 && !classes.Contains(name)) { throw new UsageException($"{option} {name}: the device of rig {on.Rig.Name} knows {string.Join(", ", classes)}"); }
        }
        if (order.Symptom is SymptomKind.WrongClass or SymptomKind.Late && order.Expected is null) { throw new UsageException("say --expected CLASS: what the device should have said"); }
        if (order.Expected is { } right && right == order.Reported) { throw new UsageException($"--expected and --reported are both {right}"); }
        string speed = PlaySpeed.For(context.Operator, on.Rig, order.Speed, new(order.Name, []));
        if (speed != Speeds.Real && order.Symptom is SymptomKind.Late or SymptomKind.Clock && order.Speed.Length == 0) { speed = Speeds.Real; }
        if (order.Bisect is not null && !on.Rig.Prepare.OfType<ProgramStep>().Any(p => p.Words.Any(w => w.Contains("{image}", StringComparison.Ordinal))))
        {
            throw new UsageException($"--bisect: rig {on.Rig.Name} has no prepare step with {{image}}, so that every play would be on the same build");
        }
        var builds = order.Bisect is { } range ? BuildList.Of(range, order.Images!, order.Make) : null;
        string key = FileHash.Sha256OfText(string.Join('\n', FileHash.Sha256(order.Log), on.Document.Sha256, order.Link, order.At, order.Expected, order.Reported, order.Symptom, output, order.AroundNs, order.RunInNs, order.Seed, order.Often, order.Bisect, order.Image, speed));
        string folder = BatchFolder.Create(order.Out, context.Now, order.Name);
        if (order.Resume) { GoOn(context.Operator, order, key, folder); }
        return new(context, view, order, on, new(order.Symptom, order.Expected ?? "", order.Reported, events, order.MoreThan,
            output), model, builds, speed, folder, key);
    }

    public async Task RunAsync(CancellationToken stop)
    {
        Complaint complaint;
        try { complaint = Understood(); }
        catch (Exception fault) when (fault is UsageException or BadInputException)
        {
            Directory.Delete(Folder, recursive: true);
            throw;
        }
        Save();
        using var gate = RigLock.Take(_context, _on.Rig);
        await Erasing.PermitAsync(_context.Operator, _on, _builds?.Image(_builds.Count - 1) ?? _order.Image, stop)
            .ConfigureAwait(false);
        Prepare(_builds is null ? _order.Image : _builds.Image(_builds.Count - 1), stop);
        _host = _order.Program is { } program ? new ProgramOpinion(HostProgram(program), _symptom, program) : _model is null ? null : new ModelOpinion(_model);
        Case = Case with { Host = _host?.Name };
        var excerpt = await RunInAsync(complaint, stop).ConfigureAwait(false);
        var plays = await ReproduceAsync(excerpt, stop).ConfigureAwait(false);
        Attribute(complaint, excerpt, plays);
        Save();
        if (Case.Shown > 0 && Case.Culprit is not Culprit.Input)
        {
            // What is shrunk, searched and kept must be wrong in the same way.
            _symptom = _symptom with { Instead = plays.Where(p => p.Play.Shown).GroupBy(p => p.Play.Said).MaxBy(g => g.Count())!.Key };
            var shortest = _order.Shrink ? await ShrinkAsync(excerpt, stop).ConfigureAwait(false) : excerpt;
            Save();
            var document = Write(shortest, "kept");
            if (_builds is not null) { Bisect(shortest, document, stop); }
            await KeepAsync(shortest, document, stop).ConfigureAwait(false);
        }
        Case = Case with { Ended = _context.Now };
        Save();
    }

    /// <summary>The log is read, and the complaint found in it; nothing is played.</summary>
    private Complaint Understood()
    {
        var log = CustomerLog.Import(_order.Log, _order.Map, LogFolder);
        var complaint = log.Find(_order.At, _symptom.Expected.Length > 0 ? _symptom.Expected : null);
        _notes.AddRange(log.Said);
        Case = Case with { When = _order.Anonymise ? null : complaint.Stamp, Complaint = Sentence(complaint, null), Invented = complaint.Motion.Info.Invented };
        Compare(complaint.Motion);
        return complaint;
    }

    /// <summary>What is known so far, into case.json and onto the page.</summary>
    public void Save()
    {
        Case = Case with { Notes = [.. _notes.Distinct()], Evidence = [.. _evidence] };
        AtomicFile.WriteText(Path.Combine(Folder, CaseFile), writer => writer.Write(CaseJson.ToText(Case)));
        AtomicFile.WriteText(Path.Combine(Folder, Page), writer => CaseReport.Write(Case, _order.Internal, writer));
    }

    public void Dispose()
    {
        _player?.Dispose();
        _host?.Dispose();
        // What was imported has the log's own times.
        if (_order.Anonymise && Directory.Exists(LogFolder)) { Directory.Delete(LogFolder, recursive: true); }
    }

    private string LogFolder => Path.Combine(Folder, "log");

    private static void GoOn(IOperator person, ReproduceOrder order, string key, string folder)
    {
        foreach (string other in Directory.GetDirectories(order.Out).Where(f => f != folder).OrderByDescending(f => f, StringComparer.Ordinal))
        {
            string file = Path.Combine(other, CaseFile), answers = Path.Combine(other, "answers.csv");
            if (!File.Exists(file) || !File.Exists(answers)) { continue; }
            if (KeyOf(file) != key) { continue; }
            PlainFile.AppendText(Path.Combine(folder, "answers.csv"), PlainFile.ReadText(answers));
            if (!order.Quiet) { person.Tell($"going on with {other}: its answers are not asked for again"); }
            return;
        }
        if (!order.Quiet) { person.Tell($"nothing to resume: no case in {order.Out} asks exactly this; it begins anew"); }
    }

    /// <summary>What a case asked; null: it cannot be read.</summary>
    private static string? KeyOf(string file)
    {
        try
        {
            return JsonNode.Parse(PlainFile.ReadText(file)) is JsonObject json
                && json["key"] is JsonValue value && value.TryGetValue(out string? key) ? key : null;
        }
        catch (Exception damaged) when (damaged is JsonException or ArgumentException or BadInputException) { return null; }
    }

    /// <param name="seen">What the device said when it was played; null: that is not known yet.</param>
    private string Sentence(Complaint complaint, string? seen)
    {
        string said = _order.Reported ?? (complaint.Logged?.Class is { } logged && logged != _symptom.Expected ? logged : seen ?? "another class");
        string what = _symptom.Kind switch
        {
            SymptomKind.Restart => "the device restarted",
            SymptomKind.Silence => "the device fell silent",
            SymptomKind.Late => string.Create(CultureInfo.InvariantCulture, $"the device reported {_symptom.Expected} more than {_symptom.MoreThan / 1e6:0.###} ms late"),
            SymptomKind.Clock => string.Create(CultureInfo.InvariantCulture, $"the device's clock was off by more than {_symptom.MoreThan} ppm"),
            _ => $"the device said {said} where it should have said {_symptom.Expected}",
        };
        return $"{what}, {complaint.At.Seconds.ToString("0.###", CultureInfo.InvariantCulture)} s into {(_order.Anonymise ? "the log" : complaint.Motion.Name)}";
    }

    /// <summary>What of the log is unlike the device, and what that can hide.</summary>
    private void Compare(Core.Recordings.Recording motion)
    {
        var input = _on.Rig.Device.Input;
        if (motion.Rate != input.Rate)
        {
            _notes.Add(motion.Rate.Hertz > input.Rate.Hertz
                ? $"the log has {motion.Rate}, the device {input.Rate}: it is resampled, and motion above {(input.Rate.Hertz / 2).ToString("0.#", CultureInfo.InvariantCulture)} Hz, which the device's own sensor may have folded down, is gone"
                : $"the log has {motion.Rate}, the device {input.Rate}: it is resampled, and motion above {(motion.Rate.Hertz / 2).ToString("0.#", CultureInfo.InvariantCulture)} Hz was never in the log");
        }
        foreach (var channel in input.Channels)
        {
            int at = motion.ChannelNames.ToList().IndexOf(channel.Name);
            if (at < 0) { throw new BadInputException([new(_order.Log, 0, 0, $"no {channel.Name}", $"what the device of rig {_on.Rig.Name} is fed: {string.Join(", ", input.Channels.Select(c => c.Name))}", "map the column, or play on a rig that does without it")]); }
            long beyond = motion.Channels[at].LongCount(v => Math.Abs(v) > channel.Range);
            if (beyond > 0) { _notes.Add(string.Create(CultureInfo.InvariantCulture, $"{beyond} values of {channel.Name} lie beyond the device's range of {channel.Range:0.###}: they are cut off there, as its sensor would")); }
        }
        _notes.Add("not played: temperature, supply, mounting and the radio, which a log of motion does not hold");
    }

    private CasePlayer Player() => _player ??= new(_on, _order.Link, _speed,
        new BuildIdentity(_order.Build ?? Path.GetFileName(_prepared), _prepared, _prepared is null ? null
        : FileHash.Sha256(_prepared)), Path.Combine(Folder, "runs", $"{++_players:00}"), _context, _view);

    private CasePlayer HostProgram(string program)
    {
        var on = _on with { Rig = RigFiles.WithLink(_on.Rig, $"process:{program}") };
        return new(on, $"process:{program}", _speed, new(null, null, null), Path.Combine(Folder, "runs", "host"), _context,
            _view);
    }

    /// <exception cref="IOException">A step failed.</exception>
    private void Prepare(string? image, CancellationToken stop)
    {
        _player?.Dispose();
        _player = null;
        _prepared = image;
        RigPreparation.Do(_context, _on.Rig, image, _players == 0 ? _order.Out : null,
            text => PlainFile.AppendText(Path.Combine(Folder, BatchFolder.Prepared), text), stop);
    }

    private SourceDocument Write(Excerpt excerpt, string what, double noise = 0, long shift = 0) =>
        excerpt.Write(Path.Combine(Folder, "played", string.Create(CultureInfo.InvariantCulture, $"{++_documents:000}-{what}")), Slug.Of(_order.Name), _symptom, Provenance(), noise, shift);

    private string Provenance() => _order.Anonymise ? "cut from a customer's log, without times and names"
        : string.Create(CultureInfo.InvariantCulture, $"cut from {Path.GetFileName(_order.Log)} (SHA-256 {Case.LogSha256}){(Case.When is { } when ? $", round {when}" : "")}");

    /// <summary>The excerpt, with motion before the complaint for as long as the outcome depends on it.</summary>
    private async Task<Excerpt> RunInAsync(Complaint complaint, CancellationToken stop)
    {
        Excerpt Of(long runIn)
        {
            var cut = Excerpt.Cut(complaint.Motion, complaint.At, _order.AroundNs, runIn, _symptom.Events.Contains(_symptom.Expected) ? Symptom.Within.Ticks * 100 : AfterNs, _model?.HopNs ?? 1);
            return _order.Anonymise ? cut with { Motion = cut.Motion with { Name = _order.Name, Info = cut.Motion.Info with { Source = null, Mounting = null, Provenance = null } } } : cut;
        }
        if (_order.RunInNs is { } asked) { return Of(asked); }
        long runIn = Math.Max(LeastRunInNs, 2 * (_model?.LooksBackNs ?? 0));
        var excerpt = Of(runIn);
        string last = await OutcomeAsync(excerpt, stop).ConfigureAwait(false);
        while (last != "shown" && runIn < MostRunInNs && complaint.At.Ns - _order.AroundNs > runIn)
        {
            var longer = Of(2 * runIn);
            string next = await OutcomeAsync(longer, stop).ConfigureAwait(false);
            // What is not about a class may take long to come: memory that leaks, a counter that overflows.
            if (next == last && (_symptom.IsAboutClass || next == "shown")) { break; }
            (runIn, excerpt, last) = (2 * runIn, longer, next);
        }
        _notes.Add(string.Create(CultureInfo.InvariantCulture, $"{(double)excerpt.From.Seconds:0.0} s of motion before the complaint are played with it: with twice as much the outcome was the same, or the log begins there"));
        return excerpt;
    }

    /// <summary>What the device makes of it, and its model: as a word to be compared.</summary>
    private async Task<string> OutcomeAsync(Excerpt excerpt, CancellationToken stop)
    {
        var document = Write(excerpt, "run-in");
        var play = await Player().PlayAsync(excerpt, document, _symptom, _order.Seed, stop).ConfigureAwait(false);
        string model = _model is null ? "" : _symptom.Said(_model.Decide(Player().Stimulus(document, _order.Seed)), excerpt.From, excerpt.To);
        return _symptom.IsAboutClass ? $"{play.Said}/{model}" : play.Shown ? "shown" : "not shown";
    }

    /// <summary>Every other play is as recorded; between them it begins a little later, with a little noise.</summary>
    private async Task<IReadOnlyList<PlayedCase>> ReproduceAsync(Excerpt excerpt, CancellationToken stop)
    {
        var random = new Xoshiro256(_order.Seed);
        double noise = 2 * _on.Rig.Device.Input.Channels.Where(c => c.Name[0] == 'a').Select(c => c.UnitsPerCount).DefaultIfEmpty().Max();
        var plays = new List<PlayedCase>();
        for (int i = 0; i < _order.Plays; i++)
        {
            bool isVaried = i % 2 == 1;
            long latest = Math.Min(500_000_000, Math.Max(0, excerpt.From.Ns - LeastRunInNs));
            long shift = isVaried ? excerpt.Motion.Rate.TimeOf((long)(random.NextShare() * excerpt.Motion.Rate.SamplesBefore(new(latest)))).Ns : 0;
            var document = Write(excerpt, isVaried ? "varied" : "exact", isVaried ? noise : 0, shift);
            ulong seed = _order.Seed + (ulong)i;
            var play = await Player().PlayAsync(excerpt, document, _symptom, seed, stop).ConfigureAwait(false);
            var stimulus = Player().Stimulus(document, seed);
            var (from, to) = stimulus.Reference is [{ } only] ? (only.Start, only.End) : (excerpt.From, excerpt.To);
            var decisions = _host is not null && _symptom.IsAboutClass && play.Spoiled is null ? await _host.DecideAsync(document, excerpt, stimulus, seed, stop).ConfigureAwait(false) : null;
            plays.Add(new(isVaried ? PlayedCase.Varied : PlayedCase.Exact, play, decisions is null ? null : _symptom.Said(decisions, from, to), decisions, stimulus));
            _view.Tell($"play {i + 1} of {_order.Plays}, {(isVaried ? "varied" : "as recorded")}: {(play.Spoiled is { } why ? $"does not count: {why}" : play.Shown ? $"shows it{(play.Said.Length > 0 && _symptom.IsAboutClass ? $" ({play.Said})" : "")}" : $"does not show it{(play.Said.Length > 0 ? $" ({play.Said})" : "")}")}");
        }
        var counted = plays.Where(p => p.Play.Spoiled is null).ToList();
        int shown = counted.Count(p => p.Play.Shown);
        Case = Case with
        {
            Plays = [.. counted.GroupBy(p => p.How).Select(g => new CasePlays(g.Key, g.Count(p => p.Play.Shown), g.Count(), g.GroupBy(p => p.Play.Said).ToDictionary(s => s.Key.Length > 0 ? s.Key : "nothing", s => s.Count())))],
            Spoiled = plays.Count - counted.Count,
            ShareInterval = BinomialBounds.TwoSided(shown, counted.Count, 0.95) is { } i95 ? (i95.Low, i95.High) : null,
        };
        return plays;
    }

    private void Attribute(Complaint complaint, Excerpt excerpt, IReadOnlyList<PlayedCase> plays)
    {
        var counted = plays.Where(p => p.Play.Spoiled is null).ToList();
        var doubts = _symptom.IsAboutClass
            ? InputDoubts.Of(complaint, _symptom, _order.AroundNs, _model?.LooksBackNs ?? LeastRunInNs, _order.References, _on.Rig.Device.Input.Rate, _model?.Model, LogFolder) : [];
        // A restart, a silence, a late report or a wrong clock is nothing that a model of motion can have.
        var judged = counted.Select(p => new PlayedComplaint(p.Play.Shown, p.Play.Said, _symptom.IsAboutClass ? p.HostSaid is { } s ? _symptom.IsShown(s) : null : false, p.HostSaid)).ToList();
        var culprit = Attribution.Of(judged, Case.Spoiled, doubts.Count > 0);
        var telling = counted.FirstOrDefault(p => p.Play.Shown && (culprit != Culprit.Firmware || !_symptom.IsAboutClass || p.HostSaid != p.Play.Said)) ?? counted.FirstOrDefault();
        _evidence.Add($"it shows in {CaseWords.Share(Case)}");
        _evidence.AddRange(new CaseEvidence(_context, _symptom, _on.Rig, _model, _host?.Name)
            .Of(culprit, plays, telling, doubts, complaint, excerpt));
        var (from, to) = telling?.Stimulus.Reference is [{ } only] ? (only.Start, only.End) : (excerpt.From, excerpt.To);
        if (_symptom.IsAboutClass && telling is { Play: { Shown: true, Said.Length: > 0 } }) { Case = Case with { Complaint = Sentence(complaint, telling.Play.Said) }; }
        Case = Case with { Culprit = culprit, Excerpt = Drawn(excerpt, telling, complaint, from, to) };
    }

    private CaseExcerpt Drawn(Excerpt excerpt, PlayedCase? played, Complaint complaint, StimulusTime from, StimulusTime to)
    {
        var stimulus = played?.Stimulus ?? Player().Stimulus(Write(excerpt, "drawn"), _order.Seed);
        var channels = stimulus.ChannelNames.Select((n, c) => (n, stimulus.Counts[c].Skip(stimulus.LeadSamples).Select(v => v * stimulus.UnitsPerCount[c]).ToArray())).ToDictionary(p => p.n, p => p.Item2);
        static IReadOnlyList<CaseSaid> Of(IEnumerable<Decision> decisions, string output) => [.. decisions.Where(d => d.Output == output).OrderBy(d => d.Time.Ns).Select(d => new CaseSaid((double)d.Time.Seconds, d.Class))];
        long start = complaint.At.Ns - (from.Ns + to.Ns) / 2;
        IReadOnlyList<CaseSaid>? logged = complaint.Motion.Labels.Count == 0 ? null
            : [.. complaint.Motion.Labels.Where(l => l.End.Ns > start && l.Start.Ns < start + excerpt.Motion.Duration.Ns).Select(l => new CaseSaid(Math.Max(0, (l.Start.Ns - start) / 1e9), l.Class))];
        return new(stimulus.Rate, channels, from, to, Of(played?.Play.Decisions ?? [], _symptom.Output), played?.HostDecisions is { } host ? Of(host, _symptom.Output) : null, logged);
    }

    private async Task<Excerpt> ShrinkAsync(Excerpt excerpt, CancellationToken stop)
    {
        bool onHost = Case.Culprit == Culprit.Model && _model is not null;
        double often = _order.Often ?? (double)Case.Shown / Case.Played;
        bool Shows(Excerpt candidate)
        {
            var document = Write(candidate, "shrink");
            string? model = _model is null || !_symptom.IsAboutClass ? null : _symptom.Said(_model.Decide(Player().Stimulus(document, _order.Seed)), candidate.From, candidate.To);
            if (onHost) { return _symptom.IsShown(model!); }
            // Too short for the windows of the model: a device that says nothing is waited for, each time.
            if (model is { Length: 0 }) { return false; }
            var play = Player().PlayAsync(candidate, document, _symptom, _order.Seed, stop).GetAwaiter().GetResult();
            return play.Spoiled is null ? play.Shown : throw new IOException($"shrinking stops: the rig spoiled a play, and every one after it: {play.Spoiled}; see {play.Folder}");
        }
        var shrinker = new Shrinker(Shows, often, _model?.HopNs ?? Shrinker.UsualStepNs, _budget, _answers, _view.Tell);
        var (shortest, plainest, shrink) = await Task.Run(() => shrinker.Shrink(excerpt, onHost ? _host!.Name : "the device", stop), stop).ConfigureAwait(false);
        if (shrink.Simplified.Count > 0) { plainest.Write(Path.Combine(Folder, "plainest"), Slug.Of(_order.Name), _symptom, Provenance() + "; simplified until it only just shows the complaint"); }
        Case = Case with { Shrink = shrink };
        return shortest;
    }

    private void Bisect(Excerpt excerpt, SourceDocument document, CancellationToken stop)
    {
        int current = _builds!.Count - 1;
        ImagePlay Play(int image)
        {
            try
            {
                if (image != current)
                {
                    Prepare(_builds.Image(image), stop);
                    current = image;
                }
                var play = Player().PlayAsync(excerpt, document, _symptom, _order.Seed, stop).GetAwaiter().GetResult();
                if (play.Spoiled is null) { return new(play.Shown, ""); }
                return play.NotStarted ? new(null, play.Spoiled) : throw new IOException($"bisecting stops: the rig spoiled a play: {play.Spoiled}; see {play.Folder}");
            }
            catch (Exception fault) when (fault is LinkException || (fault is IOException && current != image))
            {
                current = -1;
                return new(null, fault.Message);
            }
        }
        var (found, why) = new Bisector(_builds, Play, _order.Confidence, _budget, _answers, _view.Tell)
            .Search(Case.Shown, Case.Played, stop);
        Case = Case with { Bisection = found };
        if (why is not null) { _evidence.Add($"the first bad image could not be searched: {why}"); }
        Save();
    }

    /// <summary>A scenario ready to be committed, once it was seen to fail where it should and to pass where it should.</summary>
    private async Task KeepAsync(Excerpt excerpt, SourceDocument document, CancellationToken stop)
    {
        string? bad = await VerdictAsync(_builds?.Count - 1, Verdict.Fail).ConfigureAwait(false);
        if (bad is null)
        {
            _evidence.Add("no scenario is kept: the excerpt did not fail when it was checked");
            return;
        }
        string? good = _builds is not null && Case.Bisection is not null ? await VerdictAsync(0, Verdict.Pass).ConfigureAwait(false) : HostPasses(document) ? $"{_host!.Name}" : null;
        if (good is null && Case.Culprit == Culprit.Firmware && _symptom.IsAboutClass)
        {
            _evidence.Add("no scenario is kept: nothing that is right passes it");
            return;
        }
        const string folder = "keep";
        string name = Slug.Of(_order.Name);
        string comment = $"# {Case.Complaint[..1].ToUpperInvariant()}{Case.Complaint[1..]}. Copy the folder to where your scenarios are, and name {name}.yaml in a suite.\n";
        excerpt.Write(Path.Combine(Folder, folder), name, _symptom, Provenance(), comment: comment);
        Case = Case with { Kept = new(folder, $"{name}.yaml", bad, good) };

        async Task<string?> VerdictAsync(int? image, Verdict wanted)
        {
            if (image is { } i && _prepared != _builds!.Image(i)) { Prepare(_builds.Image(i), stop); }
            // What shows only sometimes must be given time to fail; what is right must pass each time.
            int plays = wanted == Verdict.Fail ? 20 : 3;
            for (int n = 1; n <= plays; n++)
            {
                var play = await Player().PlayAsync(excerpt, document, _symptom, _order.Seed, stop).ConfigureAwait(false);
                string where = image is { } k ? _builds!.Names[k] : Case.Build == "as it is on the rig" ? "the build on the rig" : Case.Build;
                if (wanted == Verdict.Fail && play.Verdict == Verdict.Fail) { return n == 1 ? where : string.Create(CultureInfo.InvariantCulture, $"{where}, in play {n} of {plays}"); }
                if (wanted == Verdict.Pass && play.Verdict != Verdict.Pass) { return null; }
                if (wanted == Verdict.Pass && n == plays) { return where; }
            }
            return null;
        }
    }

    private bool HostPasses(SourceDocument document)
    {
        if (_model is null || !_symptom.IsAboutClass) { return false; }
        var scenario = ScenarioFile.Parse(document.Text, document.Path);
        var stimulus = Player().Stimulus(document, _order.Seed);
        return Scorer.Score(new ScoreInput
        {
            Reference = stimulus.Reference, Decisions = _model.Decide(stimulus), Outputs = _on.Rig.Device.Outputs, End = stimulus.End, Rules = scenario.Rules, Rate = stimulus.Rate,
        }).Verdict == Verdict.Pass;
    }
}
