using System.Text.Json;

namespace HilRunner.Transport.Decoding;

/// <summary>Writes down what an adapter answers, read by read.</summary>
internal sealed class RecordingAdapter(IAdapter inner, Stream kept) : IAdapter
{
    private readonly List<JsonElement> _said = [];

    /// <summary>Reads that it was asked for.</summary>
    public int Reads { get; private set; }

    public JsonElement Ask(ReadOnlySpan<byte> request, Action<JsonElement>? onLine)
    {
        int read = Reads++;
        _said.Clear();
        try
        {
            JsonElement done = inner.Ask(request, line =>
            {
                onLine?.Invoke(line);
                _said.Add(line);
            });
            foreach (JsonElement line in _said) { Write(read, AdapterMessages.MessageKey, line); }
            if (_said.Count > 0 || done.EnumerateObject().Count() > 1) { Write(read, AdapterMessages.DoneKey, done); }
            return done;
        }
        catch (InvalidDataException failure)
        {
            AdapterMessages.Write(kept, json =>
            {
                json.WriteNumber(AdapterMessages.ReadKey, read);
                json.WriteString(AdapterMessages.FailedKey, failure.Message);
            });
            throw;
        }
    }

    public void Dispose() => inner.Dispose();

    private void Write(int read, string key, JsonElement line) => AdapterMessages.Write(kept, json =>
    {
        json.WriteNumber(AdapterMessages.ReadKey, read);
        json.WritePropertyName(key);
        line.WriteTo(json);
    });
}
